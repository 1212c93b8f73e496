"""A second reader beside music21: what partitura reads of a page of music, held against what music21 reads.

    second.py FOLDER...

Compared for every *.musicxml in the folders:
  - the notes as they are written, each by staff, voice, key, start and length in quarters (partitura ties notes by key alone, which does
    not do where two voices hold one key; ties are counted by `engraved.py`);
  - the chord symbols in order: root and printed text, which is all that partitura keeps of them.

Exits with 0 where all is equal, 1 where anything differs, 2 where there is nothing to compare.
"""

import sys
import warnings
from collections import Counter
from fractions import Fraction
from pathlib import Path

import partitura
from music21 import chord, converter, harmony, note, stream
from partitura.score import ChordSymbol

# Fractions of a quarter that both readers hold exactly on our pages: halves to 64ths, triplets, quintuplets and septuplets.
GRID = 10080
# What it does not read: it says of every chord symbol that it is empty, looks for dynamics in all words, skips tempo and
# rehearsal marks, and takes a repeat without a start to go back to the first bar. Any other warning is a fault.
KNOWN = (
    "ignoring empty <harmony> tag",
    'error parsing "',
    "unhandled: ",
    "ignoring direction type: metronome",
    "ignoring direction type: rehearsal",
    "Found repeat without start",
)


def grid(value) -> int:
    return round(Fraction(value).limit_denominator(GRID) * GRID)


def of_partitura(path: Path) -> tuple[Counter, list[tuple]]:
    """Notes as (staff, voice, key, start, length), and symbols as (root, text)."""
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        score = partitura.load_musicxml(path)
    alien = {str(one.message) for one in caught if not str(one.message).startswith(KNOWN)}
    assert not alien, alien
    notes, symbols = Counter(), []
    for part in score.parts:
        divisions = int(part.quarter_durations()[0][1])
        assert len(part.quarter_durations()) == 1, "the divisions change"
        for found in part.notes:
            start, length = found.start.t * GRID // divisions, found.duration * GRID // divisions
            notes[(found.staff or 1, found.voice, found.midi_pitch, start, length)] += 1
        symbols += [(s.root, s.alter, s.kind or "") for s in part.iter_all(ChordSymbol)]
    return notes, symbols


def of_music21(score: stream.Score) -> tuple[Counter, list[tuple]]:
    """The same of what music21 has read."""
    notes, symbols = Counter(), []
    for staff, part in enumerate(score.parts, 1):
        for measure in part.getElementsByClass(stream.Measure):
            for place in [measure, *measure.voices]:
                for element in place.notes:
                    if isinstance(element, harmony.Harmony):
                        continue
                    at = grid(measure.offset) + grid(place.elementOffset(element))
                    # The lower staff has one voice, the fifth, and music21 keeps no number where there is one alone.
                    voice = int(place.id) if place is not measure else {1: 1, 2: 5}[staff]
                    for head in element.notes if isinstance(element, chord.Chord) else [element]:
                        assert isinstance(head, note.Note)
                        length = grid(element.duration.quarterLength)
                        notes[(staff, voice, head.pitch.midi, at, length)] += 1
                for symbol in place.getElementsByClass(harmony.Harmony):
                    symbols.append((grid(measure.offset) + grid(place.elementOffset(symbol)), spoken(symbol)))
    return notes, [content for _, content in sorted(symbols, key=lambda symbol: symbol[0])]


def spoken(symbol: harmony.Harmony) -> tuple:
    """Root and printed text; music21 asks no root of chords without a known kind, so that it comes from their text."""
    root = symbol._overrides.get("root") or symbol.root()
    if root is None:
        # No chord: the page has a root that is not printed, which music21 leaves out.
        return ("C", 0, symbol.chordKindStr or "")
    return (root.step, int(root.alter), symbol.chordKindStr or "")


def compare(path: Path, score: stream.Score | None = None) -> list[str]:
    """Where the two readers differ."""
    if score is None:
        score = converter.parse(path, format="musicxml", forceSource=True)
    (notes, symbols), (other_notes, other_symbols) = of_partitura(path), of_music21(score)
    found = []
    if not notes:
        found.append("partitura reads no notes")
    if notes != other_notes:
        only, other = notes - other_notes, other_notes - notes
        found.append(f"notes: partitura alone {sorted(only)[:2]}, music21 alone {sorted(other)[:2]} of {notes.total()}")
    if len(symbols) != len(other_symbols):
        found.append(f"symbols: partitura {len(symbols)}, music21 {len(other_symbols)}")
    for one, other in zip(symbols, other_symbols):
        if one != other:
            found.append(f"symbols: partitura {one}, music21 {other}")
            break
    return found


def main() -> int:
    pages = sorted(page for folder in sys.argv[1:] for page in Path(folder).glob("*.musicxml"))
    failed = 0
    for page in pages:
        found = compare(page)
        failed += bool(found)
        for fault in found:
            print(f"{page.parent.name}/{page.name}: {fault}")
    print(f"{len(pages)} pages, of which two readers read {failed} otherwise")
    return 2 if not pages else int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
