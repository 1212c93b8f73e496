"""Prints chord labels with what mir_eval makes of them: label, key of the root, keys above it as bits, key of the bass.

The output is kept in tests/data/vocabulary/labels.tsv; tests/vocabulary_labels.rs holds our reader against it.
"""

from mir_eval import chord

ACCIDENTALS = ["bb", "b", "", "#", "##"]
DEGREES = [sign + str(number) for number in range(1, 14) for sign in ["b", "", "#"]]
OMITTED = [str(number) for number in range(1, 14)] + ["b3", "b5", "#5", "b7", "bb7"]


def labels():
    yield from (letter + sign for letter in "ABCDEFG" for sign in ACCIDENTALS)
    yield from ("Eb/" + degree for degree in DEGREES)
    for shorthand in chord.QUALITIES:
        if shorthand:
            yield "C:" + shorthand
            yield from (f"C:{shorthand}(*{degree})" for degree in OMITTED)
        yield from (f"C:{shorthand}({degree})" for degree in DEGREES)


print("# label, key of the root, keys above the root with the bass, key of the bass above the root: mir_eval 0.8.2")
for label in labels():
    root, bits, bass = chord.encode(label, reduce_extended_chords=True)
    print(label, root, "".join(str(bit) for bit in bits), bass, sep="\t")
