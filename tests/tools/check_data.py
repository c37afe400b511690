"""Checks every data/*.json that has a schema in data/schemas/ with an independent JSON Schema library.

Also fails when a data file has no schema, a schema has no file, or a row cites a source that is not in sources.json.
"""
import json
import pathlib
import sys

import jsonschema

root = pathlib.Path(__file__).resolve().parents[2]
failures = []
checked = 0

sources = {row["id"] for row in json.loads((root / "data/sources.json").read_text())["sources"]}


def cited(value):
    """Every value of a field called `source`, at any depth."""
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == "source" and isinstance(inner, str):
                yield inner
            else:
                yield from cited(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from cited(inner)


# Which schema a file answers to: its own name, its folder's (law/gb.json is a rule-pack), or the book's for the demo.
def schema_for(path):
    relative = path.relative_to(root / "data")
    if relative.parts[0] == "law":
        return root / "data/schemas/rule-pack.schema.json"
    if relative.parts[0] == "waste":
        return root / "data/schemas/waste.schema.json"
    if relative.name == "demo.json":
        return root / "data/schemas/book.schema.json"
    return root / "data/schemas" / (relative.stem + ".schema.json")


used = set()
for path in sorted((root / "data").rglob("*.json")):
    if path.parent.name == "schemas":
        continue
    form = schema_for(path)
    name = path.relative_to(root)
    if not form.exists():
        failures.append(f"{name}: has no schema {form.relative_to(root)}")
        continue
    used.add(form)
    schema = json.loads(form.read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    document = json.loads(path.read_text())
    for error in jsonschema.Draft202012Validator(schema).iter_errors(document):
        place = "/".join(str(part) for part in error.absolute_path)
        failures.append(f"{name}/{place}: {error.message[:160]}")
    if path.name != "demo.json":
        for source in sorted(set(cited(document)) - sources):
            failures.append(f"{name}: cites {source}, which is not in data/sources.json")
    checked += 1

for form in sorted((root / "data/schemas").glob("*.schema.json")):
    if form not in used:
        failures.append(f"{form.relative_to(root)}: no data file answers to it")

print("\n".join(failures) if failures else f"{checked} data files fit their schemas and cite known sources")
sys.exit(1 if failures or checked == 0 else 0)
