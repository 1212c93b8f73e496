#!/usr/bin/env python3
"""Rows of the census as a straightforward script with music21 makes them: the same rows, and how fast.

    census_speed.py PROGRAM FOLDER

PROGRAM is the example `census`. Compared are chord, shell, triad, inversion, spacing, MIDI numbers, degrees and all about the set
class; the script makes no spelling, no verdict and no roughness. Each row is asked of music21 anew, as a straightforward script does.
"""

import csv
import resource
import shutil
import subprocess
import sys
import time
from pathlib import Path

from music21 import chord, harmony, interval, pitch

CHORDS = [("C", "C7", "dominant-seventh"), ("F", "Fmaj7", "major-seventh"), ("D", "Dm7", "minor-seventh"), ("B", "Bm7b5", "half-diminished-seventh")]
QUALITIES = ["C7", "Cmaj7", "Cm7", "Cm7b5"]
SHELL = "1 3 7"
LOWEST, OCTAVES = 36, 2
# Major, minor, diminished, augmented and suspended: members, and on how many roots there is another one.
TRIADS = [((0, 4, 7), 12), ((0, 3, 7), 12), ((0, 3, 6), 12), ((0, 4, 8), 4), ((0, 5, 7), 12)]
# Made once, since music21 makes a chord of pitches a hundred times as fast as one of numbers, which it spells first.
PITCHES = [pitch.Pitch(midi=key) for key in range(128)]
# So many rows are timed, which takes seconds.
RATED = 40_000
COLUMNS = "chord,shell,inversion,spacing,left_lowest,right_lowest,midi,degrees,forte,prime_form,interval_vector"
# What a note is called that is no chord tone, by semitones above the root (common practice, no source).
TENSIONS = ["1", "b9", "9", "#9", "3", "11", "#11", "5", "b13", "13", "b7", "maj7"]
TONES = {"P1": "1", "m3": "b3", "M3": "3", "d5": "b5", "P5": "5", "m7": "b7", "M7": "maj7"}


def degrees_of(symbol):
    names = list(TENSIONS)
    for tone in symbol.pitches:
        between = interval.Interval(symbol.root(), tone)
        names[between.semitones % 12] = TONES[between.simpleName]
    return names


def up_to(floor, pitch_class):
    return floor + (pitch_class - floor) % 12


def stacked(classes, above):
    """The notes of these classes from the bottom, each the next above the one before."""
    keys = []
    for pitch_class in classes:
        keys.append(up_to(above + 1, pitch_class))
        above = keys[-1]
    return keys


def rows():
    for root_name, text, kind in CHORDS:
        symbol = harmony.ChordSymbol(root=root_name, kind=kind)
        root = symbol.root().pitchClass
        names = degrees_of(symbol)
        shell = [root, symbol.third.pitchClass, symbol.seventh.pitchClass]
        for octave in range(OCTAVES):
            left = stacked(shell, LOWEST + 12 * octave - 1)
            for members, roots in TRIADS:
                for on in range(roots):
                    triad = [(root + on + member) % 12 for member in members]
                    for turn, inversion in enumerate(("root", "first", "second")):
                        low, middle, top = triad[turn:] + triad[:turn]
                        for spacing, classes in (("close", (low, middle, top)), ("open", (middle, low, top))):
                            right = stacked(classes, left[-1])
                            midi = left + right
                            found = chord.Chord([PITCHES[key] for key in midi])
                            yield {
                                "chord": text,
                                "shell": SHELL,
                                "inversion": inversion,
                                "spacing": spacing,
                                "left_lowest": str(left[0]),
                                "right_lowest": str(right[0]),
                                "midi": " ".join(map(str, midi)),
                                "degrees": " ".join(names[(key - root) % 12] for key in midi),
                                "forte": found.forteClass,
                                "prime_form": " ".join(map(str, found.primeForm)),
                                "interval_vector": " ".join(map(str, found.intervalVector)),
                            }


def main():
    program, folder = sys.argv[1], Path(sys.argv[2])
    shutil.rmtree(folder, ignore_errors=True)
    begins = time.process_time()
    own = list(rows())
    script = len(own) / (time.process_time() - begins)

    theirs = []
    for (root, text, _), quality in zip(CHORDS, QUALITIES):
        out = folder / text
        asked = ["--root", root, "--chord", quality, "--shell", SHELL, "--columns", COLUMNS, "--out", str(out)]
        subprocess.run([program, *asked], check=True, capture_output=True, text=True)
        for part in sorted(out.glob("part-*.csv")):
            with part.open(newline="") as file:
                theirs.extend(csv.DictReader(file))
    # music21 10.5.1 leaves the Z out of the names; census.py restores it and compares whole names.
    for row in theirs:
        row["forte"] = row["forte"].replace("Z", "")
    for row in own:
        row["forte"] = row["forte"].replace("Z", "")
    assert len(own) == len(CHORDS) * OCTAVES * 52 * 6
    # The order of the chords is that of the script, within a chord that of the numbering.
    for mine, other in zip(own, theirs, strict=True):
        assert mine == other, (mine, other)

    # All columns, verdicts and roughness among them, on one core: rows for each second of its time.
    out = folder / "rate"
    asked = ["--space", "usual", "--range", f"0..{RATED}", "--threads", "1", "--out", str(out)]
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    subprocess.run([program, *asked], check=True, capture_output=True)
    rate = RATED / (resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before)
    ratio = rate / script
    print(f"{len(own)} rows of the census as a script with music21 makes them; rows a second: {script:.0f} by the script, {rate:.0f} with all columns by one thread, {ratio:.0f} times")


if __name__ == "__main__":
    main()
