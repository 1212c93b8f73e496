#!/usr/bin/env python3
"""Writes what music21 and mir_eval say about all sets of pitch classes and about chords on every root.

    language_fixture.py --out FOLDER

FOLDER gets `sets.tsv`, `chords.tsv` and `qualities.tsv`; those in tests/data/language were made so, with the versions pinned in
requirements.txt, and tests/outside/run makes them again and compares. The columns are described at the head of each file.
"""

import argparse
import itertools
from importlib.metadata import version
from pathlib import Path

import mir_eval
from music21 import chord, harmony, pitch

DIGITS = "0123456789TE"

# Our canonical suffix; MusicXML kind with its degrees (type, value, alter), as the MusicXML 4.0 schema defines them;
# the same chord in the syntax of Harte et al., ISMIR 2005: shorthand, added and left out (*) degrees.
QUALITIES = [
    ("", "major", [], "maj"),
    ("m", "minor", [], "min"),
    ("dim", "diminished", [], "dim"),
    ("+", "augmented", [], "aug"),
    ("sus4", "suspended-fourth", [], "sus4"),
    ("sus2", "suspended-second", [], "sus2"),
    ("5", "power", [], "5"),
    ("6", "major-sixth", [], "maj6"),
    ("m6", "minor-sixth", [], "min6"),
    ("7", "dominant", [], "7"),
    ("maj7", "major-seventh", [], "maj7"),
    ("m7", "minor-seventh", [], "min7"),
    ("m(maj7)", "major-minor", [], "minmaj7"),
    ("m7b5", "half-diminished", [], "hdim7"),
    ("dim7", "diminished-seventh", [], "dim7"),
    ("dim(maj7)", "diminished", [("add", 7, 1)], "dim(7)"),
    ("7sus4", "suspended-fourth", [("add", 7, 0)], "sus4(b7)"),
    ("7sus2", "suspended-second", [("add", 7, 0)], "sus2(b7)"),
    ("maj7sus4", "suspended-fourth", [("add", 7, 1)], "sus4(7)"),
    ("6sus4", "suspended-fourth", [("add", 6, 0)], "sus4(6)"),
    ("7#5", "augmented-seventh", [], "aug(b7)"),
    ("7b5", "dominant", [("alter", 5, -1)], "7(b5,*5)"),
    ("maj7#5", "major-seventh", [("alter", 5, 1)], "maj7(#5,*5)"),
    ("maj7b5", "major-seventh", [("alter", 5, -1)], "maj7(b5,*5)"),
    ("m7#5", "minor-seventh", [("alter", 5, 1)], "min7(#5,*5)"),
    ("(b5)", "major", [("alter", 5, -1)], "maj(b5,*5)"),
    ("m(#5)", "minor", [("alter", 5, 1)], "min(#5,*5)"),
]
EXTENDED = [
    ("9", "dominant-ninth", [], "9"),
    ("maj9", "major-ninth", [], "maj9"),
    ("m9", "minor-ninth", [], "min9"),
    ("m(maj9)", "major-minor", [("add", 9, 0)], "minmaj7(9)"),
    ("11", "dominant-11th", [], "11"),
    ("maj11", "major-11th", [], "maj11"),
    ("m11", "minor-11th", [], "min11"),
    ("13", "dominant-13th", [], "13"),
    ("maj13", "major-13th", [], "maj13"),
    ("m13", "minor-13th", [], "min13"),
    ("(add9)", "major", [("add", 9, 0)], "maj(9)"),
    ("m(add9)", "minor", [("add", 9, 0)], "min(9)"),
    ("6/9", "major-sixth", [("add", 9, 0)], "maj6(9)"),
    ("m6/9", "minor-sixth", [("add", 9, 0)], "min6(9)"),
    ("9sus4", "suspended-fourth", [("add", 7, 0), ("add", 9, 0)], "sus4(b7,9)"),
    ("7(b9)", "dominant", [("add", 9, -1)], "7(b9)"),
    ("7(#9)", "dominant", [("add", 9, 1)], "7(#9)"),
    ("7(#11)", "dominant", [("add", 11, 1)], "7(#11)"),
    ("7(b13)", "dominant", [("add", 13, -1)], "7(b13)"),
    ("7(b9,#11)", "dominant", [("add", 9, -1), ("add", 11, 1)], "7(b9,#11)"),
    ("7#5(#9)", "augmented-seventh", [("add", 9, 1)], "aug(b7,#9)"),
    ("9(#11)", "dominant-ninth", [("add", 11, 1)], "9(#11)"),
    ("13(b9)", "dominant-13th", [("alter", 9, -1)], "7(b9,13)"),
    ("13(#11)", "dominant-13th", [("alter", 11, 1)], "7(9,#11,13)"),
    ("maj7(#11)", "major-seventh", [("add", 11, 1)], "maj7(#11)"),
    ("maj9(#11)", "major-ninth", [("add", 11, 1)], "maj9(#11)"),
    ("7(no5)", "dominant", [("subtract", 5, 0)], "7(*5)"),
    (
        "7alt",
        "dominant",
        [("subtract", 5, 0), ("add", 9, -1), ("add", 9, 1), ("add", 11, 1), ("add", 13, -1)],
        "7(*5,b9,#9,#11,b13)",
    ),
]
# Every third, fifth and seventh, or what stands in for them, by the degrees of Harte et al.; a dash for none. In MusicXML
# a chord over a third is its kind with another fifth; all others come from the kind over a major third, since music21
# takes a seventh that is added to a suspension for a major one.
THIRDS = ["-", "2", "b3", "3", "4"]
FIFTHS = ["-", "b5", "5", "#5"]
SEVENTHS = ["-", "6", "bb7", "b7", "7"]
KINDS = {
    ("3", "-"): "major",
    ("3", "6"): "major-sixth",
    ("3", "b7"): "dominant",
    ("3", "7"): "major-seventh",
    ("b3", "-"): "minor",
    ("b3", "6"): "minor-sixth",
    ("b3", "bb7"): "diminished-seventh",
    ("b3", "b7"): "minor-seventh",
    ("b3", "7"): "major-minor",
}
THIRD_OF_A_MAJOR_CHORD = {
    "-": [("subtract", 3, 0)],
    "2": [("subtract", 3, 0), ("add", 2, 0)],
    "4": [("subtract", 3, 0), ("add", 4, 0)],
}
FIFTH = {"-": [("subtract", 5, 0)], "b5": [("alter", 5, -1)], "5": [], "#5": [("alter", 5, 1)]}

ROOTS = [letter + sign for sign in ("bb", "b", "", "#", "##") for letter in "FCGDAEB"]

PITCHES = [pitch.Pitch(name) for name in "C4 C#4 D4 E-4 E4 F4 F#4 G4 A-4 A4 B-4 B4".split()]


def digits(members):
    return "".join(DIGITS[n] for n in members)


def turns(members):
    return [members[i:] + members[:i] for i in range(len(members))]


def above_first(members):
    return [(n - members[0]) % 12 for n in members]


def rahn_order(members):
    """Rahn, *Basic Atonal Theory* (1980): least span, then last but one lowest, and so on; then lowest first."""
    return min(turns(members), key=lambda turn: (above_first(turn)[::-1], turn[0]), default=[])


def rahn_prime(members):
    """The better of the normal orders of the set and of its inversion, moved to 0."""
    inverted = sorted(-n % 12 for n in members)
    both = [above_first(rahn_order(side)) for side in (members, inverted) if side]
    return min(both, key=lambda turn: turn[::-1], default=[])


def set_row(bits):
    members = [n for n in range(12) if bits >> n & 1]
    found = chord.Chord([PITCHES[n] for n in members])
    name = found.forteClassTn if members else ""
    assert not members or name.rstrip("AB") == found.forteClassTnI, bits
    mate = found.getZRelation()
    assert found.hasZRelation == (mate is not None), bits
    return [
        f"{bits:03x}",
        digits(found.normalOrder),
        digits(found.primeForm),
        name,
        "".join(f"{n:X}" for n in found.intervalVector),
        mate.forteClassTnI if mate else "",
        digits(rahn_order(members)),
        digits(rahn_prime(members)),
    ]


def names_by_music21(root, kind, degrees):
    symbol = harmony.ChordSymbol(root=root.replace("b", "-"), kind=kind)
    for change, value, alter in degrees:
        symbol.addChordStepModification(harmony.ChordStepModification(change, value, alter), updatePitches=False)
    if degrees:
        symbol._updatePitches()  # the public door adds every degree anew with each one
    names = {p.name.replace("-", "b") for p in symbol.pitches}
    return " ".join(sorted(names))


def set_by_mir_eval(label, reduce):
    try:
        root, bitmap, _ = mir_eval.chord.encode(label, reduce_extended_chords=reduce)
    except mir_eval.chord.InvalidChordException:
        return ""
    return f"{sum(1 << (n + root) % 12 for n in range(12) if bitmap[n]):03x}"


def chord_row(root, row):
    suffix, kind, degrees, harte = row
    label = f"{root}:{harte}"
    names = names_by_music21(root, kind, degrees)
    return [root, suffix, names, set_by_mir_eval(label, False), set_by_mir_eval(label, True)]


def qualities():
    """Thirds, fifths and sevenths that make different chords: a diminished seventh over a diminished triad is no sixth,
    over anything else it is one."""
    for third, fifth, seventh in itertools.product(THIRDS, FIFTHS, SEVENTHS):
        diminished = (third, fifth) == ("b3", "b5")
        if not (seventh == "6" and diminished or seventh == "bb7" and not diminished):
            yield third, fifth, seventh


def quality_row(root, quality):
    third, fifth, seventh = quality
    degrees = ",".join(degree for degree in ("1", *quality) if degree != "-")
    label = f"{root}:({degrees})"
    if third in ("3", "b3"):
        kind, changes = KINDS[third, seventh], FIFTH["5" if seventh == "bb7" else fifth]
    else:
        kind, changes = KINDS["3", seventh], THIRD_OF_A_MAJOR_CHORD[third] + FIFTH[fifth]
    names = names_by_music21(root, kind, changes)
    return [root, *quality, names, set_by_mir_eval(label, False)]


def write(path, head, rows):
    lines = [f"# {line}" for line in head] + ["\t".join(row) for row in rows]
    path.write_text("\n".join(lines) + "\n")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--out", type=Path, required=True)
    out = parser.parse_args().out
    out.mkdir(parents=True, exist_ok=True)
    music21_version = f"music21 {version('music21')}"
    write(
        out / "sets.tsv",
        [
            f"{music21_version}; made by tests/outside/language_fixture.py. Pitch classes as digits 0 to 9, T, E.",
            "set (bits, hexadecimal), normalOrder, primeForm, forteClassTn, intervalVector (hexadecimal), forteClassTnI of",
            "getZRelation; Rahn's normal order and prime form, by his definition. Names by music21 have no Z.",
        ],
        (set_row(bits) for bits in range(1 << 12)),
    )
    write(
        out / "chords.tsv",
        [
            f"{music21_version}, mir_eval {version('mir_eval')}; made by tests/outside/language_fixture.py.",
            "root, suffix, names by music21; pitch classes by mir_eval (bits, hexadecimal) as encoded by default and with",
            "reduce_extended_chords.",
        ],
        (chord_row(root, row) for row, root in itertools.product(QUALITIES + EXTENDED, ROOTS)),
    )
    write(
        out / "qualities.tsv",
        [
            f"{music21_version}, mir_eval {version('mir_eval')}; made by tests/outside/language_fixture.py.",
            "root, third, fifth, seventh (dash for none), names by music21; pitch classes by mir_eval (bits, hexadecimal).",
        ],
        (quality_row(root, quality) for quality, root in itertools.product(qualities(), ROOTS)),
    )


if __name__ == "__main__":
    main()
