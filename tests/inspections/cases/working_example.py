"""The example case of the command `working`, as a fresh dict that a test may change."""

import copy
from typing import Any

_EXAMPLE: dict[str, Any] = {
    "point": {
        "quantity": "bond",
        "material": "copper",
        "length": "15 m",
        "section": "75 mm²",
        "parallel_paths": False,
    },
    "rule": {
        "limit": "20 mohm",
        "reference_temperature": "20 degC",
        "decision": "guarded",
        "guard": "1",
        "methods": ["four-wire"],
        "minimum_current": "1 A",
        "repeats": 1,
        "allowed_spread_percent": "5",
    },
    "instrument": {
        "calibrated_on": "2027-01-10",
        "valid_until": "2028-01-09",
        "accuracy": {"percent_of_reading": "0.5", "digits": "2"},
    },
    "reading": {
        "text": "5.00",
        "unit": "mohm",
        "step": "0.01 mohm",
        "range_top": "25 mohm",
        "method": "four-wire",
        "current": "10 A",
        "temperature": "35 degC",
        "temperature_source": "contact",
        "temperature_accuracy": "1 K",
        "at": "2027-05-03T10:20:00+01:00",
        "repeats": [],
        "reversed": None,
        "null": None,
    },
    "history": [
        {
            "on": "2026-05-02",
            "corrected": "4.60 mohm",
            "uncertainty": None,
            "method": "four-wire",
            "baseline": True,
        }
    ],
}

REMOVE = object()


def example(**changes: Any) -> dict[str, Any]:
    """The example with `section__key=value` changed; REMOVE takes the key out.

    >>> example(reading__text="OL")["reading"]["text"]
    'OL'
    """
    case = copy.deepcopy(_EXAMPLE)
    for place, value in changes.items():
        *path, key = place.split("__")
        section = case
        for name in path:
            section = section[name]
        if value is REMOVE:
            del section[key]
        else:
            section[key] = value
    return case
