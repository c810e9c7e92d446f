"""The front door, signing in and out."""

from tests.access.cast import EVERYBODY
from tests.access.line import Line

LINES = [
    Line("home", get=EVERYBODY),
    Line("sign-in", get=EVERYBODY, post=EVERYBODY, public=True),
    Line("sign-out", post=EVERYBODY),
]
