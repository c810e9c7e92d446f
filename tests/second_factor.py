"""An authenticator app as a person holds one, and the codes it shows."""

import hashlib
import json
import secrets
import time
from typing import Any

from allauth.account.utils import user_pk_to_url_str
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP, format_hotp_value, generate_totp_secret, hotp_value
from allauth.mfa.webauthn.internal.auth import WebAuthn
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from fido2.cose import ES256
from fido2.utils import websafe_decode, websafe_encode
from fido2.webauthn import AttestationObject, AttestedCredentialData, AuthenticatorData, CollectedClientData

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


class Key:
    """A security key: it answers a challenge, with or without having asked for a PIN or a finger."""

    def __init__(self, person: Person, host: str = "testserver") -> None:
        self._secret = ec.generate_private_key(ec.SECP256R1())
        self._id, self._host = secrets.token_bytes(16), host
        self._handle = websafe_encode(user_pk_to_url_str(person).encode())
        public = ES256.from_cryptography_key(self._secret.public_key())
        made = AttestedCredentialData.create(bytes(16), self._id, public)
        data = self._data(AuthenticatorData.FLAG.UP | AuthenticatorData.FLAG.AT, made)
        WebAuthn.add(
            person,
            "key",
            self._answer(
                clientDataJSON=websafe_encode(self._client_data("webauthn.create", b"none")),
                attestationObject=websafe_encode(AttestationObject.create("none", data, {})),
            ),
        )

    def answer(self, challenge: str, *, verified: bool) -> str:
        """What the browser sends, with this key's signature. verified: whether a PIN or finger was asked for"""
        flags = AuthenticatorData.FLAG.UP | (AuthenticatorData.FLAG.UV if verified else 0)
        data = self._data(AuthenticatorData.FLAG(flags))
        client = self._client_data("webauthn.get", websafe_decode(challenge))
        signed = self._secret.sign(data + client.hash, ec.ECDSA(hashes.SHA256()))
        return json.dumps(
            self._answer(
                clientDataJSON=websafe_encode(client),
                authenticatorData=websafe_encode(data),
                signature=websafe_encode(signed),
                userHandle=self._handle,
            )
        )

    def _answer(self, **response: str) -> dict[str, Any]:
        own = websafe_encode(self._id)
        return {"id": own, "rawId": own, "type": "public-key", "response": response}

    def _client_data(self, kind: str, challenge: bytes) -> CollectedClientData:
        return CollectedClientData.create(kind, challenge, f"https://{self._host}")

    def _data(self, flags: AuthenticatorData.FLAG, made: bytes = b"") -> AuthenticatorData:
        host = hashlib.sha256(self._host.encode()).digest()
        return AuthenticatorData.create(host, flags, 1, made)
