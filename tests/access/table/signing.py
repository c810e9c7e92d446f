"""The front door, signing in and out, invitations, and one's own sign-in."""

from tests.access.cast import EVERYBODY, EVERYONE, IN_THE_FIRM, QUALITY, SIGNATORY, only
from tests.access.line import Line

DOOR = {"get": EVERYBODY, "post": EVERYBODY, "public": True}
OWN = {"get": EVERYBODY, "post": EVERYBODY}

LINES = [
    Line("home", get=EVERYBODY),
    Line("sign-in", **DOOR),
    Line("account_login", **DOOR),
    Line("mfa_authenticate", **DOOR),
    Line("mfa_login_webauthn", **DOOR),
    Line("sign-out", post=EVERYBODY),
    Line("invitation", of=lambda stage: "no-such-secret", seen_by=EVERYONE, **DOOR),
    Line("forgotten-password", **DOOR),
    Line("link-sent", get=EVERYBODY, public=True),
    Line("new-password", of=lambda stage: ("MQ", "no-such-token"), seen_by=EVERYONE, **DOOR),
    Line("second-factor-first", get=EVERYBODY),
    Line("your-sign-in", get=EVERYBODY),
    Line("account_reauthenticate", **OWN),
    Line("change-password", **OWN),
    Line("mfa_activate_totp", **OWN),
    Line("mfa_add_webauthn", **OWN),
    Line("new-recovery-codes", **OWN),
    # Nobody of the cast has a second factor: what is somebody's own does not exist for them. Where the password
    # is asked for first, it is asked for whether or not the thing exists.
    Line("mfa_deactivate_totp", seen_by=(), **OWN),
    Line("mfa_remove_webauthn", of=lambda stage: 1, seen_by=EVERYONE, **OWN),
    Line("mfa_view_recovery_codes", get=EVERYBODY, seen_by=()),
    Line("end-session", post=EVERYBODY, of=lambda stage: 1, seen_by=()),
    Line("end-other-sessions", post=EVERYBODY),
    Line(
        "demand-second-factor",
        post=only(SIGNATORY, QUALITY),
        of=lambda stage: stage.firm,
        seen_by=IN_THE_FIRM,
    ),
]
