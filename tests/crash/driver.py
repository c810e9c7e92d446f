"""The process that works in a test's own record: it forks, kills and looks.

    python -m tests.crash.driver

Reads a line of JSON a command, {"subject", "command": its method, and the arguments}; answers each with a line of
JSON. A subject makes its part of the record when it is first asked.
"""

import importlib
import json
import sys
from typing import Any

import django

SUBJECTS = {
    "imports": ("tests.crash.imports", "Imports"),
    "authorisation": ("tests.crash.authorisation", "Authorisation"),
    "at once": ("tests.crash.at_once", "AtOnce"),
}


def main() -> None:
    django.setup()
    # Whatever the product prints goes where errors go: this stream carries answers alone.
    answers, sys.stdout = sys.stdout, sys.stderr
    made: dict[str, Any] = {}
    for line in sys.stdin:
        told = json.loads(line)
        name = told.pop("subject")
        if name not in made:
            module, subject = SUBJECTS[name]
            made[name] = getattr(importlib.import_module(module), subject)()
        answer = getattr(made[name], told.pop("command"))(**told)
        print(json.dumps(answer), file=answers, flush=True)


if __name__ == "__main__":
    main()
