#!/usr/bin/python3
"""The JSON write-ups of simulated jobs against src/record/writeup.schema.json.

    writeup_schema.py RECORD_SIMULATED SCHEMA

The validator is Debian's python3-jsonschema; without it the test is skipped (exit code 77). The
schema itself is checked first, and then that it is strict: taking any member away from a write-up, or
giving it another type, must be refused, or the validation above proves nothing.
"""
import copy
import json
import subprocess
import sys

try:
    import jsonschema
except ImportError:
    print("skipped: install python3-jsonschema")
    sys.exit(77)

SEEDS = (1, 121)


def write_ups(program, *more):
    made = subprocess.run(
        [program, "json-lines", str(SEEDS[0]), str(SEEDS[1]), *more],
        check=True, capture_output=True).stdout
    return [json.loads(part) for part in made.split(b"\0") if part]


def places(value, path=()):
    """Every place in the write-up: the first of each list stands for the others."""
    if isinstance(value, dict):
        for key in value:
            yield path + (key,)
            yield from places(value[key], path + (key,))
    elif isinstance(value, list) and value:
        yield from places(value[0], path + (0,))


def holder(document, path):
    for key in path[:-1]:
        document = document[key]
    return document


def must_refuse(validator, document, path, change):
    spoiled = copy.deepcopy(document)
    change(holder(spoiled, path), path[-1])
    if validator.is_valid(spoiled):
        sys.exit(f"the schema lets a change at {'/'.join(map(str, path))} pass")


def main():
    program, schema_file = sys.argv[1:3]
    with open(schema_file, encoding="utf-8") as file:
        schema = json.load(file)
    jsonschema.Draft7Validator.check_schema(schema)
    validator = jsonschema.Draft7Validator(schema)
    documents = write_ups(program) + write_ups(program, "spoiled")
    for number, document in enumerate(documents):
        for error in validator.iter_errors(document):
            sys.exit(f"write-up {number}: {'/'.join(map(str, error.path))}: {error.message}")
    full = max(documents, key=lambda document: len(json.dumps(document)))
    optional = {("answers", 0, "mm")}
    refused = 0
    for path in places(full):
        if isinstance(path[-1], int):
            continue
        must_refuse(validator, full, path, lambda at, key: at.__setitem__(key, {"no": "such"}))
        must_refuse(validator, full, path, lambda at, key: at.__setitem__(key + "_", at[key]))
        refused += 2
        if path not in optional:
            must_refuse(validator, full, path, lambda at, key: at.pop(key))
            refused += 1
    open_jobs = sum(document["ending"] == "open" for document in documents)
    rounds = sum(len(document["rounds"]) for document in documents)
    print(f"{len(documents)} write-ups valid ({open_jobs} of open jobs, {rounds} rounds in all), "
          f"{refused} changes refused")


main()
