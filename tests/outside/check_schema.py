"""Holds the JSON Schema of rule files against programs of others: it is a schema, the sets that ship meet it, and what the
reader refuses by shape it refuses too. TOML is read by Python's own tomllib, the schema by the package jsonschema."""

import copy
import json
import sys
import tomllib
from pathlib import Path

from jsonschema import Draft7Validator

rules = Path(__file__).parents[2] / "rules"
schema = json.loads((rules / "schema.json").read_text())
Draft7Validator.check_schema(schema)
validator = Draft7Validator(schema)

sets = {path.name: tomllib.loads(path.read_text()) for path in sorted(rules.glob("*.toml"))}
assert len(sets) >= 6, "the sets that ship are not there"
count = 0
for name, data in sets.items():
    errors = list(validator.iter_errors(data))
    assert not errors, f"{name}: {errors[0].json_path}: {errors[0].message}"
    count += len(data.get("rule", []))

readme = (rules / "README.md").read_text()
examples = [block.split("```")[0] for block in readme.split("```toml\n")[1:]]
base = {"id": "x", "message": "m", "help": "h", "source": "s"}
kinds = set()
for text in examples:
    data = tomllib.loads(text)
    if "kind" in data:
        kinds.add(data["kind"])
        data = {"format": 1, "name": "x", "rule": [base | data]}
    errors = list(validator.iter_errors(data))
    assert not errors, f"example {text!r}: {errors[0].message}"
assert len(kinds) == 13, kinds

# Every rule that ships, damaged in one place: each is refused.
refused = 0
def refuse(data, what):
    global refused
    assert not validator.is_valid(data), f"{what} is let through"
    refused += 1

for name, data in sets.items():
    for at, rule in enumerate(data.get("rule", [])):
        def damaged(change):
            other = {"format": 1, "name": name, "rule": [copy.deepcopy(rule)]}
            change(other["rule"][0])
            return other
        refuse(damaged(lambda r: r.update(nonsense=1)), f"{name} {at}: a key that is none")
        refuse(damaged(lambda r: r.update(kind="tnoe")), f"{name} {at}: a kind that is none")
        for key in rule:
            refuse(damaged(lambda r: r.update({key: 0.5})), f"{name} {at}: a fraction as {key}")
        for key in ["id", "message", "help", "source"]:
            refuse(damaged(lambda r: r.pop(key)), f"{name} {at}: no {key}")
            refuse(damaged(lambda r: r.update({key: " "})), f"{name} {at}: {key} says nothing")
        if rule["kind"] != "motion":
            refuse(damaged(lambda r: r.update(effect="clash", cost=1)), f"{name} {at}: two effects")
        refuse(damaged(lambda r: r.update(chords=["dominent"])), f"{name} {at}: a family that is none")
for head in [{}, {"format": 2, "name": "x"}, {"format": 1}, {"format": 1, "name": "x", "rules": []}]:
    refuse(head, head)
print(f"schema: {len(sets)} sets with {count} rules and {len(examples)} examples meet it, {refused} damaged ones do not")
