#!/usr/bin/env python3
"""Holds the JSON Schema to the reader: two validators must take every description that
the program takes, and refuse what can be refused without looking from one place to
another.

Usage: tests/schema/check.py PROGRAM SOURCES [MODULES]
       MODULES: a folder in which npm put ajv and @taplo/cli, which are then asked too
       77 where no validator is installed
"""

import pathlib
import re
import subprocess
import sys
import tempfile
import json

try:
    import tomllib
    import jsonschema
except ImportError as missing:
    print(f"not tried: {missing} (Debian: python3-jsonschema)")
    sys.exit(77)
try:
    import fastjsonschema
except ImportError:
    fastjsonschema = None
    print("with one validator only: python3-fastjsonschema is not installed")

# Complaints that a schema cannot make: they look from one place to another, need
# arithmetic, look at the command line, or at another file.
BEYOND = set("""
part-unknown pin-unknown pin-malformed pin-nowhere pin-twice pin-duplicate net-unknown
net-floating source-loop source-path supply-shorted supply-no-load supply-voltage
state-unknown state-twice state-target state-fixed state-passing run-unknown run-twice
run-time run-steps run-fixed run-pwm pwm-many expect-meaning expect-pin expect-bounds
expect-phase variant-unknown change-target change-wiring change-twice change-ambiguous
figure-order value-range value-zero text-invalid too-large more not-utf8 model-unfit
figure-malformed mark-unknown source-missing source-unknown source-unused
hole-unknown
path-word path-conflict block-inside block-unknown block-file block-circle block-deep
family-unknown kind-typeless type-twice type-known curve-unknown other-file
""".split())

# Files with another complaint that is beyond it all the same, and why.
ALSO_BEYOND = {
    "change-target.toml": "the complaint is about the command line",
    "key-conflict-in-state.toml": "how the part is given stands elsewhere",
    "set-value.toml": "the complaint is about the command line",
    "ground-by-another-name.toml": "in paths ground stands by name, wherever that is",
    "output-level.toml": "that it is an output is told elsewhere",
}

FOLDERS = ["circuits", "reference/worked", "tests/mistakes", "tests/sound",
           "tests/plugging", "tests/diagnostics"]


def validators(schema):
    """What each validator says of a description: None, or why it refuses it."""
    checker = jsonschema.Draft7Validator(schema)
    jsonschema.Draft7Validator.check_schema(schema)

    def first(path, data):
        error = jsonschema.exceptions.best_match(checker.iter_errors(data))
        return error and f"{'/'.join(map(str, error.path))}: {error.message}"[:200]

    found = [first]
    if fastjsonschema:
        fast = fastjsonschema.compile(schema)

        def second(path, data):
            try:
                fast(data)
                return None
            except fastjsonschema.JsonSchemaValueException as error:
                return str(error)[:200]

        found.append(second)
    return found


def editors_validators(schema, descriptions, modules):
    """The same by ajv and taplo, each of which is asked of all of them at once."""
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        (folder / "schema.json").write_text(json.dumps(schema))
        copies = {}
        for number, (path, data) in enumerate(descriptions.items()):
            copies[str(folder / f"{number}.json")] = path
            text = json.dumps(data, default=str)
            # JSON has no such numbers; for a schema one is as good as another.
            text = re.sub(r"\b(Infinity|NaN)\b", "1e308", text)
            (folder / f"{number}.json").write_text(text)
        script = str(pathlib.Path(__file__).resolve().parent / "ajv.mjs")
        said = subprocess.run(["node", script, str(folder / "schema.json"), *copies],
                              cwd=modules, check=True, capture_output=True, text=True)
        by_ajv = {}
        for line in said.stdout.splitlines():
            word, rest = line.split(" ", 1)
            file, _, why = rest.partition(": ")
            by_ajv[copies[file]] = None if word == "taken" else why
        said = subprocess.run(
            [f"{modules}/node_modules/.bin/taplo", "lint", "--schema",
             f"file://{folder / 'schema.json'}", *map(str, descriptions)],
            capture_output=True, text=True)
        refused = set(re.findall(r"┌─ (.*?\.toml):", said.stderr))
        by_taplo = {path: "by taplo" if str(path) in refused else None
                    for path in descriptions}
    assert len(by_ajv) == len(descriptions) and refused
    return [lambda path, data: by_ajv[path], lambda path, data: by_taplo[path]]


def read(path):
    """The description, or None where the file is no TOML."""
    try:
        return tomllib.loads(path.read_bytes().decode())
    except ValueError:
        return None


def main(program, sources, modules=None):
    printed = subprocess.run([program, "schema"], check=True, capture_output=True)
    schema = json.loads(printed.stdout)
    judges = validators(schema)
    descriptions = {}
    for folder in FOLDERS:
        for path in sorted((pathlib.Path(sources).resolve() / folder).glob("*.toml")):
            if not path.name.endswith(".recorded.toml"):
                descriptions[path] = read(path)
    if modules:
        readable = {p: data for p, data in descriptions.items() if data is not None}
        judges += editors_validators(schema, readable, modules)
    wrong = []
    counts = {"taken": 0, "refused": 0, "beyond": 0}

    def judge(path, data):
        if data is None:
            return "no TOML"
        words = [say(path, data) for say in judges]
        if len({word is None for word in words}) > 1:
            wrong.append(f"{path}: the validators differ: {words}")
        return words[0]

    for path, data in descriptions.items():
        text = path.read_bytes().decode(errors="replace")
        word = judge(path, data)
        ids = set(re.findall(r"expect: error ([a-z0-9-]+)", text))
        if path.parent.name == "diagnostics":
            beyond = ids <= BEYOND or path.name in ALSO_BEYOND
            counts["beyond" if word is None else "refused"] += 1
            if word is None and not beyond:
                wrong.append(f"{path}: not refused, though it has {ids - BEYOND}")
        else:
            is_refused = "# expect: refused" in text
            counts["refused" if is_refused else "taken"] += 1
            if word is not None and not is_refused:
                wrong.append(f"{path}: refused, though the program takes it: {word}")

    print(f"{len(judges)} validators:",
          ", ".join(f"{count} {what}" for what, count in counts.items()))
    print("\n".join(wrong))
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
