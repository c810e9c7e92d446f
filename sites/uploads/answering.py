"""Handing a kept file out: byte for byte, to be saved and never to be run in the page's place."""

import logging
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.cache import get_conditional_response
from django.utils.http import content_disposition_header

from sites import filestore

logger = logging.getLogger(__name__)
# Whatever a reader makes of the bytes, nothing in them may run, be framed or call another host.
SANDBOX = "default-src 'none'; frame-ancestors 'none'; sandbox"


def handed_out(
    request: HttpRequest, sha256: str, name: str, content_type: str, *, damaged: tuple[str, dict[str, Any]]
) -> HttpResponseBase:
    """The bytes with this hash as an attachment. Who may have them is the caller's to ask first.

    damaged: the template and its context that answer where the bytes are missing or changed (500)
    """
    try:
        content = filestore.get(sha256)
    except filestore.FileDamaged as damage:
        logger.error("%s: %s", name, damage)
        template, context = damaged
        return render(request, template, context, status=500)
    etag = f'"{sha256}"'
    headers = {
        "Content-Disposition": content_disposition_header(True, name) or "attachment",
        "Content-Security-Policy": SANDBOX,
        "ETag": etag,
        "Cache-Control": "private, no-cache",
        "X-Content-Type-Options": "nosniff",
    }
    whole = HttpResponse(content, content_type=str(content_type), headers=headers)
    return get_conditional_response(request, etag=etag, response=whole) or whole
