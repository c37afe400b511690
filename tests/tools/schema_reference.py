"""Does Python's jsonschema agree on which values fit? schema_reference.py SCHEMA_SAMPLE

The sample program draws values from our schemas, spoils half, and says which it holds to fit. Dates are left out where
the two differ by intent: JSON Schema leaves `format` to the reader, and our date-times may lack seconds and a zone.
"""
import json
import re
import subprocess
import sys
from datetime import date

import jsonschema

formats = jsonschema.FormatChecker(formats=())
DAY_AND_TIME = re.compile(r"(\d{4}-\d{2}-\d{2})T([01]\d|2[0-3]):[0-5]\d(:[0-5]\d(\.\d+)?)?(Z|[+-]([01]\d|2[0-3]):[0-5]\d)?")


@formats.checks("date", raises=ValueError)
def is_day(value):
    return not isinstance(value, str) or (re.fullmatch(r"\d{4}-\d{2}-\d{2}", value) and date.fromisoformat(value) is not None)


@formats.checks("date-time", raises=ValueError)
def is_day_and_time(value):
    return not isinstance(value, str) or (DAY_AND_TIME.fullmatch(value) is not None and is_day(value[:10]))


fitting = broken = 0
wrong = []
for line in subprocess.run([sys.argv[1]], capture_output=True, text=True, check=True).stdout.splitlines():
    sample = json.loads(line)
    whole = {"$schema": "https://json-schema.org/draft/2020-12/schema", **sample["schema"], "$ref": "#" + sample["part"]}
    for key in ("type", "required", "properties", "additionalProperties", "$id"):
        whole.pop(key, None)
    checker = jsonschema.Draft202012Validator(whole, format_checker=formats)
    for one in sample["values"]:
        theirs = checker.is_valid(one["value"])
        fitting, broken = fitting + theirs, broken + (not theirs)
        if theirs != one["fits"]:
            wrong.append(f"{sample['part']} of {sample['schema'].get('title')}: jsonschema says {theirs} of {one['value']}")
print(f"{fitting} that fit, {broken} that do not, {len(wrong)} judged otherwise")
print("\n".join(wrong[:20]))
sys.exit(0 if not wrong and fitting > 500 and broken > 500 else 1)
