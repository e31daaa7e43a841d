#!/usr/bin/python3
"""Do the JSON Schemas agree with the loader? They must accept the good files and the examples, and refuse each bad file of
a structural code. YAML is read by the rules of YAML 1.2 (core schema), as editors do. Usage: schema_check.py SOURCE_ROOT"""

import json
import re
import sys
from pathlib import Path

import jsonschema
import yaml


class CoreLoader(yaml.SafeLoader):
    """Only what the core schema of YAML 1.2 (10.3.2) resolves: no yes and no, no octal 010, no dates."""


CoreLoader.yaml_implicit_resolvers = {}
for tag, pattern, first in [
    ("null", r"^(~|null|Null|NULL|)$", ["~", "n", "N", ""]),
    ("bool", r"^(true|True|TRUE|false|False|FALSE)$", list("tTfF")),
    ("int", r"^[-+]?[0-9]+$|^0o[0-7]+$|^0x[0-9a-fA-F]+$", list("-+0123456789")),
    ("float", r"^[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?$|^[-+]?\.(inf|Inf|INF)$|^\.(nan|NaN|NAN)$",
     list("-+.0123456789")),
]:
    CoreLoader.add_implicit_resolver(f"tag:yaml.org,2002:{tag}", re.compile(pattern), first)
CoreLoader.add_constructor("tag:yaml.org,2002:int", lambda loader, node: int(node.value.lstrip("+")))


def kind_of(path):
    return "rig" if path.name.startswith("rig") or ".rig." in path.name else "stages"


def with_words_for_keys(node):
    """A key is a word in JSON, whatever it looks like: the schema of an editor sees unit ids so."""
    if isinstance(node, dict):
        return {str(key): with_words_for_keys(value) for key, value in node.items()}
    return [with_words_for_keys(item) for item in node] if isinstance(node, list) else node


def read(path):
    return with_words_for_keys(yaml.load(path.read_text(encoding="utf-8"), CoreLoader))


def main(root):
    schemas = {k: json.loads((root / f"config/schema/{k}.schema.json").read_text()) for k in ("rig", "stages")}
    for schema in schemas.values():
        jsonschema.Draft7Validator.check_schema(schema)
    validators = {k: jsonschema.Draft7Validator(s) for k, s in schemas.items()}
    corpus = root / "tests/config/corpus"
    table = (root / "config/finding_codes.cpp").read_text()
    structural = set(re.findall(r'\{"([EW]-[a-z-]+)", schema,', table))
    loader = set(re.findall(r'\{"([EW]-[a-z-]+)", loader,', table))
    failures, refused, accepted = [], 0, 0

    good = sorted((corpus / "good").glob("*.yaml")) + sorted((root / "config/examples").glob("**/*.yaml"))
    good = [path for path in good if ".rehearsal." not in path.name and "rehearsals" not in path.parts]
    for path in good:
        accepted += 1
        for error in validators[kind_of(path)].iter_errors(read(path)):
            failures.append(f"{path}: schema refuses a good file: {list(error.absolute_path)}: {error.message[:200]}")
    for path in sorted(corpus.glob("[EW]-*/*.yaml")):
        code = path.parent.name
        if code not in structural | loader:
            failures.append(f"{path}: code {code} is not in the table")
        if code not in structural or "_loader." in path.name:
            continue
        refused += 1
        if validators[kind_of(path)].is_valid(read(path)):
            failures.append(f"{path}: schema accepts what the loader refuses")
    # Warnings are loaded all the same, so the schema must not refuse them.
    for path in sorted(corpus.glob("W-*/*.yaml")):
        accepted += 1
        for error in validators[kind_of(path)].iter_errors(read(path)):
            failures.append(f"{path}: schema refuses what is loaded with a warning: {error.message[:200]}")

    print("\n".join(failures))
    print(f"{accepted} files accepted, {refused} refused, {len(failures)} disagreements")
    return 1 if failures or refused < 3 * len(structural) - 3 or accepted < 20 else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
