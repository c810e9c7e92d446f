"""Whether this installation's address is one at which browsers offer passkeys."""

import ipaddress

from django.http import HttpRequest


def passkeys_work(request: HttpRequest) -> bool:
    """At a name under https, or at ``localhost``; never at a bare number such as 127.0.0.1."""
    host = request.get_host().rpartition(":")[0] or request.get_host()
    if host == "localhost":
        return True
    try:
        ipaddress.ip_address(host.strip("[]"))
    except ValueError:
        return request.is_secure()
    return False
