#!/usr/bin/env python3
"""Reads tracks to play along with by programs of others and holds them against the track and the page beside them.

    play_along.py FOLDER

FOLDER holds, for each tune, STEM-play-along.mid with STEM.mid and STEM.musicxml. Read by mido:
  - tempo, metre and key at the start are those of STEM.mid;
  - melody and hands are those of STEM.mid, all later by the same time: a bar to count in, and what a pick-up lacks of
    a bar;
  - a click on every beat of the count-in;
  - every note has its end, no key sounds twice at once on one channel, and nothing sounds behind the end;
  - the bass has E1 to G3 and plays, at each chord symbol of the page as music21 reads it, its bass or root.
Programs are asked of music21 by their numbers in General MIDI.

Exits with 0 where all is so, 1 where anything is not, 2 where there is nothing to check.
"""

import sys
from fractions import Fraction
from pathlib import Path

import mido
from music21 import converter, harmony, instrument, midi, stream

TUNE = ["Melody", "Right hand", "Left hand"]
CHANNELS = {"Melody": 0, "Right hand": 1, "Left hand": 2, "Bass": 3, "Guide tones": 4, "Drums": 9}


def notes_of(track: mido.MidiTrack, found: list[str]) -> list[tuple[int, int, int]]:
    """Start, end and key of each note, in ticks."""
    notes, sounding, now = [], {}, 0
    for message in track:
        now += message.time
        if not hasattr(message, "channel"):
            continue
        if message.channel != CHANNELS[track.name]:
            found.append(f"{track.name}: a message on channel {message.channel + 1}")
        if message.type == "note_on" and message.velocity > 0:
            if message.note in sounding:
                found.append(f"{track.name}: key {message.note} struck again at {now}")
            sounding[message.note] = now
        elif message.type in ("note_on", "note_off"):
            if message.note not in sounding:
                found.append(f"{track.name}: key {message.note} ends at {now}, but does not sound")
            notes.append((sounding.pop(message.note, now), now, message.note))
    if sounding:
        found.append(f"{track.name}: {sorted(sounding)} never end")
    return sorted(notes)


def length(track: mido.MidiTrack) -> int:
    return sum(message.time for message in track)


def basses(page: Path) -> list[tuple[Fraction, int | None]]:
    """Time in quarters and lowest pitch class of each chord symbol; none where no chord is known."""
    found = []
    for measure in converter.parse(page, format="musicxml", forceSource=True).parts[0].getElementsByClass(stream.Measure):
        for place in [measure, *measure.voices]:
            for symbol in place.getElementsByClass(harmony.Harmony):
                time = Fraction(measure.offset) + Fraction(place.elementOffset(symbol))
                known = not isinstance(symbol, harmony.NoChord) and symbol.chordKind not in ("other", "")
                lowest = (symbol.bass() or symbol.root()).pitchClass if known else None
                found.append((time, lowest))
    return sorted(found, key=lambda symbol: symbol[0])


def check(path: Path) -> list[str]:
    """All that is wrong with one file."""
    found: list[str] = []
    stem = path.name.removesuffix("-play-along.mid")
    file, plain = mido.MidiFile(path), mido.MidiFile(path.with_name(f"{stem}.mid"))
    tracks = {track.name: track for track in file.tracks[1:]}
    if (file.type, file.ticks_per_beat, list(tracks)) != (1, plain.ticks_per_beat, list(CHANNELS)):
        return [f"format {file.type}, tracks {list(tracks)}"]
    heads = [[m for m in head.tracks[0] if m.time == 0 and m.is_meta and m.type != "end_of_track"] for head in (file, plain)]
    if heads[0][:4] != heads[1][:4]:
        found.append(f"first track: {heads[0]}, expected {heads[1]}")
    metre = next(message for message in file.tracks[0] if message.type == "time_signature")
    bar = file.ticks_per_beat * 4 * metre.numerator // metre.denominator
    lead = length(file.tracks[0]) - length(plain.tracks[0])
    if not bar <= lead < 2 * bar:
        found.append(f"{lead} ticks before the tune, expected a bar of {bar} and less than another")
    if {length(track) for track in file.tracks} != {length(file.tracks[0])}:
        found.append("the tracks end at different times")
    notes = {name: notes_of(track, found) for name, track in tracks.items()}
    for name in TUNE:
        before = notes_of(next(track for track in plain.tracks if track.name == name), found)
        if notes[name] != [(start + lead, end + lead, key) for start, end, key in before]:
            found.append(f"{name}: not as in {stem}.mid")
    end = length(file.tracks[0])
    found += [f"{name}: a note until {n[1]}, the end is {end}" for name in notes for n in notes[name] if n[1] > end]
    found += [f"Bass: key {n[2]}" for n in notes["Bass"] if not 28 <= n[2] <= 55]
    clicks = [start for start, _, key in notes["Drums"] if key == 37]
    beat = bar * 3 // metre.numerator if metre.numerator % 3 == 0 and metre.denominator == 8 else bar // metre.numerator
    if clicks != list(range(0, 2 * bar if lead > bar else bar, beat)):
        found.append(f"clicks at {clicks}")
    symbols = basses(path.with_name(f"{stem}.musicxml"))
    asked = 0
    for (time, lowest), behind in zip(symbols, [*symbols[1:], (None, None)]):
        if lowest is None or behind[0] == time:
            continue
        at = round(time * file.ticks_per_beat) + lead
        played = [key % 12 for start, _, key in notes["Bass"] if start == at]
        asked += 1
        if played != [lowest]:
            found.append(f"Bass: {played} at {float(time)}, expected {lowest}")
    if asked == 0:
        found.append("Bass: no chord to ask for")
    for name, track in tracks.items():
        programs = [message.program for message in track if message.type == "program_change"]
        if programs != ([] if name == "Drums" else [32] if name == "Bass" else [0]):
            found.append(f"{name}: programs {programs}")
    return found


def general_midi() -> list[str]:
    """What music21 knows under the numbers that we use."""
    found = []
    for program, name in [(0, "Piano"), (32, "Acoustic Bass")]:
        known = instrument.instrumentFromMidiProgram(program).instrumentName
        if known != name:
            found.append(f"program {program + 1} is {known}, expected {name}")
    mapper = midi.percussion.PercussionMapper()
    # The ride cymbal is not among those that music21 maps.
    for key, name, way in [(37, "Snare Drum", "side"), (42, "Hi-Hat Cymbal", "closed"), (44, "Hi-Hat Cymbal", "pedal")]:
        known = mapper.midiPitchToInstrument(key)
        if (known.instrumentName, known.modifier) != (name, way):
            found.append(f"percussion {key} is {known.instrumentName}, {known.modifier}, expected {name}, {way}")
    return found


def main() -> int:
    if len(sys.argv) != 2:
        print(__doc__, file=sys.stderr)
        return 2
    files = sorted(Path(sys.argv[1]).glob("*-play-along.mid"))
    if not files:
        print(f"nothing to play along with in {sys.argv[1]}", file=sys.stderr)
        return 2
    wrong = general_midi()
    for path in files:
        wrong += [f"{path.stem}: {difference}" for difference in check(path)]
    print(*wrong, sep="\n", end="\n" if wrong else "")
    print(f"{len(files)} tracks to play along with, {len(wrong)} differences")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
