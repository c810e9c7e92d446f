"""An authenticator app as a person holds one, and the codes it shows."""

import time

from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP, format_hotp_value, generate_totp_secret, hotp_value

from sites.models import Person


def set_up_app(person: Person) -> str:
    """The app's secret, once it is stored for the person."""
    secret = generate_totp_secret()
    TOTP.activate(person, secret)
    return secret


def set_up_codes(person: Person) -> list[str]:
    return RecoveryCodes.activate(person).generate_codes()


def shown(secret: str) -> str:
    """What the app shows now."""
    return format_hotp_value(hotp_value(secret, int(time.time()) // 30))
