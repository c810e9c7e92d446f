"""One spelling for equal facts: canonical JSON, the form that hashes are taken of."""

import hashlib
import json
from typing import Any


def canonical_json(value: Any) -> str:
    """JSON with sorted keys, no spaces and letters unescaped, so that equal facts give equal text.

    value: nested dict (text keys), list or tuple, text, int, bool, None
    Raises: TypeError for anything else; a binary fraction has more than one spelling and is refused
    """
    _check(value)
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def sha256_of(text: str) -> str:
    """SHA-256 of the text's UTF-8 bytes, as 64 hexadecimal figures."""
    return hashlib.sha256(text.encode()).hexdigest()


def _check(value: Any) -> None:
    if isinstance(value, dict):
        for key, inner in value.items():
            if not isinstance(key, str):
                raise TypeError(f"Canonical JSON has text keys only, not {key!r}.")
            _check(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            _check(inner)
    elif value is not None and not isinstance(value, str | int):
        raise TypeError(f"Canonical JSON cannot hold {value!r}. Give decimals, days and instants as text.")
