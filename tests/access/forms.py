"""The forms of a page, each filled in as somebody would who writes what they like into every field of words."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any
from xml.etree.ElementTree import Element

from django.core.files.uploadedfile import SimpleUploadedFile

from tests.access.markup import EVIL, born_of, tree_of

WORDS = ("text", "search", "email", "url", "tel", "password")
# What a page asks for, where it is no words: what stands there already, else the smallest that is right.
USUAL = {"date": "2027-05-03", "datetime-local": "2027-05-03T14:00", "number": "1"}


@dataclass
class Form:
    """action: where it goes, empty for the page's own address; body: filled in as it stands; words: names of fields
    that take words, with the longest that fits in; secret: those of them that take a password; wrong: names of fields
    that came back as wrong"""

    action: str
    posts: bool
    body: dict[str, Any] = field(default_factory=dict)
    words: dict[str, int | None] = field(default_factory=dict)
    secret: set[str] = field(default_factory=set)
    wrong: set[str] = field(default_factory=set)
    choices: dict[str, list[str]] = field(default_factory=dict)

    def saying(self, words: str, instead: dict[str, str] | None = None) -> dict[str, Any]:
        """What is sent where every field of words gets these, as much as fits in, but for those named."""
        said = {name: words if longest is None else words[:longest] for name, longest in self.words.items()}
        return {**self.body, **said, **(instead or {})}


class Forms:
    """``forms``: those of the page; ``injected``: elements or handlers that came through as mark-up."""

    def __init__(self, html: str | Element) -> None:
        root = tree_of(html) if isinstance(html, str) else html
        self.injected = born_of(root)
        outside = [node for node in root.iter() if node.get("form")]
        self.forms = [_read(node, outside) for node in root.iter("form")]


def _read(node: Element, outside: list[Element]) -> Form:
    form = Form(node.get("action", ""), node.get("method", "get").lower() == "post")
    named = [one for one in outside if one.get("form") == node.get("id")]
    for one in [*node.iter(), *named]:
        if one.get("name") and one.get("disabled") is None:
            _field(form, str(one.tag), one.get("name", ""), one)
            if one.get("aria-invalid") == "true":
                form.wrong.add(one.get("name", ""))
    return form


def _field(form: Form, tag: str, name: str, node: Element) -> None:
    kind, value = node.get("type", "text").lower(), node.get("value", "")
    if tag == "select":
        form.choices[name] = list(_options(node))
        chosen = next((o.get("value", "") for o in node.iter("option") if o.get("selected") is not None), "")
        form.body[name] = chosen or next(iter(form.choices[name]), "")
    elif tag == "textarea" or (tag == "input" and kind in WORDS):
        longest = node.get("maxlength", "")
        form.words[name] = int(longest) if longest.isdecimal() else None
        form.body[name] = EVIL
        if kind == "password":
            form.secret.add(name)
    elif tag == "input" and kind in ("checkbox", "radio"):
        form.choices.setdefault(name, []).append(node.get("value", "on"))
        form.body.setdefault(name, node.get("value", "on"))
    elif tag == "input" and kind == "file":
        form.body[name] = SimpleUploadedFile("plan.txt", b"words", "text/plain")
    elif tag == "input" and kind in USUAL:
        form.body[name] = value or USUAL[kind]
    elif tag == "input" and kind == "hidden":
        form.body[name] = value


def _options(node: Element) -> Iterator[str]:
    return (option.get("value", "") for option in node.iter("option") if option.get("value"))
