"""Who asks. Every page but those at the door needs a person, so there is one."""

from typing import cast

from django.http import HttpRequest

from sites.models import Person


def signed_in(request: HttpRequest) -> Person:
    return cast(Person, request.user)
