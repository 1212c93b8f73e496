"""Checks the JSON that the examples write: its keys, and that what it says can be played.

Usage: check_json.py FOLDER_OF_EXAMPLES WORK_FOLDER

WORK_FOLDER holds the folders `demo`, `more` (with dominants that may be played otherwise), `small`, `medium` and `large` (the last
three only with real lead sheets), as `arrange` wrote them for hands of that size.
"""

import json
import pathlib
import re
import subprocess
import sys

KEYS = {"title", "key", "chords", "octave_shift", "cost"}
CHORD_KEYS = {
    "bar", "beat", "symbol", "function", "melody", "left", "right", "structure", "tensions", "sounding", "cost",
    "colour", "findings",
}
# Only where a dominant is played otherwise than written.
PLAYED_AS = {"ii-V", "subV", "ii-V of subV", "sus-V", "sus"}
ENTRY_KEYS = {"label", "triad", "degrees", "verdict", "cost", "colour", "sounding", "findings"}
SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
# Balliauw et al., ITOR 24 (2017), 1-5: an octave, a ninth, a tenth at most.
STRETCH = {"demo": 14, "more": 14, "small": 12, "medium": 14, "large": 16}


def midi(pitch):
    letter, accidental, octave = re.fullmatch(r"([A-G])(b{0,2}|#{0,2})(-?\d+)", pitch).groups()
    return 12 * (int(octave) + 1) + SEMITONES[letter] + accidental.count("#") - accidental.count("b")


def check_arrangement(path, largest):
    report = json.loads(path.read_text())
    assert set(report) == KEYS, (path, set(report))
    assert report["octave_shift"] in (0, 12), path
    voiced = otherwise = 0
    for chord in report["chords"]:
        where = (path.name, chord["bar"], chord["beat"], chord["symbol"])
        assert set(chord) - {"played_as"} == CHORD_KEYS, (where, set(chord))
        assert chord.get("played_as", "sus") in PLAYED_AS, (where, chord)
        otherwise += "played_as" in chord
        left, right = [midi(p) for p in chord["left"]], [midi(p) for p in chord["right"]]
        both = left + right
        assert both == sorted(set(both)), (where, "hands ascend and do not cross", both)
        for hand in (left, right):
            assert not hand or hand[-1] - hand[0] <= largest, (where, "stretch", hand)
        if chord["melody"]:
            assert chord["right"][-1] == chord["melody"], (where, "the melody is last in the right hand")
        if chord["structure"]:
            assert set(chord["structure"]) == {"label", "triad"}, where
            assert len(right) == 3, (where, "a structure is a triad")
        for finding in chord["findings"]:
            assert set(finding) == {"rule", "message", "help"} and all(finding.values()), (where, finding)
        for pitch in chord["left"] + chord["right"][:-1]:
            assert "bb" not in pitch and "##" not in pitch, (where, "double accidental", pitch)
        voiced += bool(chord["left"])
    return len(report["chords"]), voiced, otherwise


def check_catalogue(binary, symbol):
    printed = subprocess.run([binary / "catalogue", symbol, "--json"], check=True, capture_output=True).stdout
    entries = json.loads(printed)
    assert len(entries) == 52, (symbol, len(entries))
    kinds = {"": 0, "m": 0, "dim": 0, "+": 0, "sus4": 0}
    for entry in entries:
        assert ENTRY_KEYS <= set(entry), (symbol, set(entry))
        assert entry["verdict"] in ("clash", "plain", "colour"), entry
        kinds[re.fullmatch(r"[A-G][b#]?(|m|dim|\+|sus4)", entry["triad"]).group(1)] += 1
    assert kinds == {"": 12, "m": 12, "dim": 12, "+": 4, "sus4": 12}, (symbol, kinds)


def asked(binary, *arguments):
    printed = subprocess.run([binary / arguments[0], *arguments[1:], "--json"], check=True, capture_output=True).stdout
    return json.loads(printed)


def check_language(binary):
    found = asked(binary, "chord", "Bb7(b9,#11)/D")
    assert found["symbol"] == "Bb7(b9,#11)/D" and found["answers"]["research label"] == ["Bb:7(b9,#11)/3"], found
    found = asked(binary, "name", "E3", "A3", "Bb3", "D4", "--chord", "C7")
    assert found["set_class"] == "4-16A" and found["readings"][0]["chord"] == "C13", found
    assert all({"chord", "points", "rootless", "missing", "reasons"} == set(r) for r in found["readings"]), found
    found = asked(binary, "analyse", "Dm7", "G7", "Cmaj7")
    assert found["key"] == "C" and found["key_is"].startswith("estimated"), found
    assert [chord["function"] for chord in found["chords"]] == ["ii", "V7/I", "I"], found


def main():
    binary, work = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
    files = chords = voiced = 0
    for size, largest in STRETCH.items():
        for path in sorted((work / size).glob("*.json")):
            of_file = check_arrangement(path, largest)
            files, chords, voiced = files + 1, chords + of_file[0], voiced + of_file[1]
            # Each of the tunes in which dominants may be played otherwise has one that is; no other tune has.
            assert (of_file[2] > 0) == (size == "more"), (path, of_file)
    assert files > 0, "nothing to check"
    for symbol in ("C7", "F#7", "Ebmaj7", "Am7b5", "D", "G7sus4", "Bdim7"):
        check_catalogue(binary, symbol)
    check_language(binary)
    print(f"{files} arrangements, {chords} chords, {voiced} voiced; 7 catalogues")


if __name__ == "__main__":
    main()
