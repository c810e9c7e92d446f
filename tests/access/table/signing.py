"""The front door, signing in and out."""

from tests.access.cast import EVERYBODY, EVERYONE
from tests.access.line import Line

LINES = [
    Line("home", get=EVERYBODY),
    Line("sign-in", get=EVERYBODY, post=EVERYBODY, public=True),
    Line("sign-out", post=EVERYBODY),
    Line(
        "invitation",
        get=EVERYBODY,
        post=EVERYBODY,
        of=lambda stage: "no-such-secret",
        seen_by=EVERYONE,
        public=True,
    ),
]
