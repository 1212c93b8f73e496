#!/usr/bin/env python3
"""Reads written pages back with programs of others and compares them with their source.

    read_back.py FOLDER SOURCE_FOLDER

FOLDER holds, for each tune, STEM.musicxml (the grand staff) and STEM.mid; optionally STEM.json with the key
"octave_shift" (semitones by which the melody was moved, otherwise 0). The source is STEM.mxl or STEM.musicxml in
SOURCE_FOLDER; a tune without one is only read.

Compared, by sound and time in quarters from the start, ties made one:
  - voice 1 of the page with the melody of the source;
  - the track "Melody" of the MIDI file with the melody of the page;
  - chord symbols, one by one in order: root, bass and kind with degrees, and the time. Symbols of the source that
    share a place share its time on the page, so of them only the first has to stand where it stood, the others
    within the same bar. A bass that the source gives as an inversion, or not at all, is compared as its note.
Warnings of music21 count as differences. A second reader, partitura, has to read the same notes and symbols (`second.py`).

Exits with 0 where all is equal, 1 where anything differs, 2 where there is nothing to compare.
"""

import json
import sys
import warnings
from fractions import Fraction
from pathlib import Path

import mido
from music21 import chord, converter, harmony, note, stream

import second

# Times of MIDI are rounded to ticks, those of music21 to its own grid: half a 480th of a quarter.
TOLERANCE = Fraction(1, 960) + Fraction(1, 10_000)

# (start, end, MIDI number) in quarters.
Sounding = tuple[Fraction, Fraction, int]


def merge_ties(notes: list[tuple[Fraction, Fraction, int, bool, bool]]) -> list[Sounding]:
    """One entry for each sounding note; the flags say: tied from before, tied to the next."""
    merged: list[Sounding] = []
    is_open = False
    for start, end, midi, tied_from, tied_to in notes:
        if is_open and tied_from and merged[-1][1] == start and merged[-1][2] == midi:
            merged[-1] = (merged[-1][0], end, midi)
        else:
            merged.append((start, end, midi))
        is_open = tied_to
    return merged


def melody_of(part: stream.Part) -> list[Sounding]:
    """The notes of voice 1, or of the part where it has no voices; the highest of each chord."""
    notes = []
    for measure in part.getElementsByClass(stream.Measure):
        voices = {str(voice.id): voice for voice in measure.voices}
        source = voices.get("1", measure) if voices else measure
        base = Fraction(measure.offset)
        for element in source.notes:
            if isinstance(element, harmony.Harmony) or element.duration.isGrace:
                continue
            top = max(element.notes, key=lambda n: n.pitch.midi) if isinstance(element, chord.Chord) else element
            if not isinstance(top, note.Note):
                continue
            start = base + Fraction(element.offset)
            end = start + Fraction(element.duration.quarterLength)
            tie = top.tie.type if top.tie else None
            notes.append((start, end, top.pitch.midi, tie in ("stop", "continue"), tie in ("start", "continue")))
    return merge_ties(notes)


def symbols_of(score: stream.Score) -> list[tuple[Fraction, Fraction, tuple]]:
    """Time, end of the bar and content of each chord symbol, in order."""
    symbols = []
    for part in score.parts:
        for measure in part.getElementsByClass(stream.Measure):
            start = Fraction(measure.offset)
            end = start + Fraction(measure.duration.quarterLength)
            for place in [measure, *measure.voices]:
                for symbol in place.getElementsByClass(harmony.Harmony):
                    symbols.append((start + Fraction(place.elementOffset(symbol)), end, content_of(symbol)))
    return sorted(symbols, key=lambda symbol: symbol[0])


def content_of(symbol: harmony.Harmony) -> tuple:
    """Root, bass, kind and degrees of a chord symbol."""
    if isinstance(symbol, harmony.NoChord):
        return ("none",)
    if symbol.chordKind in ("other", ""):
        # No notes are known, so there is no root to ask for; the printed text is all there is.
        return ("other", symbol.chordKindStr)
    root = symbol.root()
    bass = symbol.bass()
    modifications = symbol.chordStepModifications
    steps = tuple(sorted((m.degree, m.interval.semitones if m.interval else 0, m.modType) for m in modifications))
    return (root.name, bass.name if bass else root.name, symbol.chordKind, steps)


def midi_melody(path: Path) -> list[Sounding]:
    """The notes of the track called Melody."""
    file = mido.MidiFile(path)
    track = next(track for track in file.tracks if track.name == "Melody")
    notes, sounding, now = [], {}, 0
    for message in track:
        now += message.time
        if message.type == "note_on" and message.velocity > 0:
            sounding[message.note] = now
        elif message.type in ("note_on", "note_off"):
            start = sounding.pop(message.note)
            notes.append((Fraction(start, file.ticks_per_beat), Fraction(now, file.ticks_per_beat), message.note))
    return sorted(notes)


def differences(what: str, expected: list[Sounding], found: list[Sounding]) -> list[str]:
    """Where two melodies differ, the first place only."""
    if len(expected) != len(found):
        return [f"{what}: {len(found)} notes, expected {len(expected)}"]
    for one, other in zip(expected, found):
        close = all(abs(a - b) <= TOLERANCE for a, b in zip(one[:2], other[:2]))
        if not close or one[2] != other[2]:
            return [f"{what}: {tuple(map(str, other))}, expected {tuple(map(str, one))}"]
    return []


def compare_symbols(expected: list, found: list) -> list[str]:
    """Where two rows of chord symbols differ, the first place only."""
    if len(expected) != len(found):
        return [f"chord symbols: {len(found)}, expected {len(expected)}"]
    before = None
    for (time, bar_end, content), (found_time, _, found_content) in zip(expected, found):
        if content != found_content:
            return [f"chord symbols: {found_content} at {float(found_time)}, expected {content}"]
        shared = time == before
        if found_time != time and not (shared and time < found_time < bar_end):
            return [f"chord symbols: {content} at {float(found_time)}, expected at {float(time)}"]
        before = time
    return []


def check(page: Path, sources: Path) -> list[str]:
    """All differences of one tune."""
    stem = page.stem
    described = page.with_suffix(".json")
    shift = json.loads(described.read_text()).get("octave_shift", 0) if described.exists() else 0
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        written = converter.parse(page, format="musicxml", forceSource=True)
        melody = melody_of(written.parts[0])
        symbols = symbols_of(written)
    found = [f"warning: {warning.message}" for warning in caught]
    found += [f"two readers: {fault}" for fault in second.compare(page, written)]
    found += differences("MIDI melody", melody, midi_melody(page.with_suffix(".mid")))
    candidates = [sources / f"{stem}.mxl", sources / f"{stem}.musicxml"]
    source = next((path for path in candidates if path.exists()), None)
    if source is not None:
        original = converter.parse(source, format="musicxml", forceSource=True)
        expected = [(start, end, midi + shift) for start, end, midi in melody_of(original.parts[0])]
        found += differences("melody", expected, melody)
        found += compare_symbols(symbols_of(original), symbols)
    return found


def main() -> int:
    if len(sys.argv) != 3:
        print(__doc__, file=sys.stderr)
        return 2
    folder = Path(sys.argv[1])
    sources = Path(sys.argv[2])
    pages = sorted(folder.glob("*.musicxml"))
    if not pages:
        print(f"no pages in {folder}", file=sys.stderr)
        return 2
    failed = 0
    for page in pages:
        found = check(page, sources)
        failed += bool(found)
        for difference in found:
            print(f"{page.stem}: {difference}")
    print(f"{len(pages)} tunes, {failed} with differences")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
