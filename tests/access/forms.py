"""The forms of a page, filled in as somebody would who writes mark-up into every field that takes words."""

from dataclasses import dataclass, field
from html.parser import HTMLParser

TAG, HANDLER = "evil-tag", "on-evil"
EVIL = f"x'\"><{TAG} {HANDLER}=1>"
WORDS = ("text", "search", "email", "url", "tel")


@dataclass
class Filled:
    """action: where it goes, empty for the page's own address; body: what is sent; words: how many fields got EVIL"""

    action: str
    posts: bool
    body: dict[str, list[str]] = field(default_factory=dict)
    words: int = 0


class Forms(HTMLParser):
    """``forms``: those of the page; ``injected``: tags or handlers of ours that came through as mark-up."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.forms: list[Filled] = []
        self.injected: list[str] = []
        self._form: Filled | None = None
        self._select = ""
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == TAG or HANDLER in given or any(name.startswith("on") for name in given):
            self.injected.append(f"<{tag} {given}>")
        if given.get("href", "").strip().lower().startswith("javascript:"):
            self.injected.append(f"<{tag} {given}>")
        if tag == "form":
            posts = given.get("method", "get").lower() == "post"
            self._form = Filled(given.get("action", ""), posts)
            self.forms.append(self._form)
        elif self._form is not None:
            self._field(self._form, tag, given)

    def _field(self, form: Filled, tag: str, given: dict[str, str]) -> None:
        name, kind = given.get("name", ""), given.get("type", "text").lower()
        if tag == "select":
            self._select = name
        elif tag == "option" and self._select:
            if given.get("value") and ("selected" in given or self._select not in form.body):
                form.body[self._select] = [given["value"]]
        elif not name or "disabled" in given:
            return
        elif tag == "textarea" or (tag == "input" and kind in WORDS):
            number = given.get("inputmode") in ("numeric", "decimal")
            form.body[name] = [given.get("value") or "1" if number else EVIL]
            form.words += 0 if number else 1
        elif tag == "input" and kind in ("checkbox", "radio"):
            form.body.setdefault(name, [given.get("value", "on")])
        elif tag == "input" and kind == "date":
            form.body[name] = [given.get("value") or "2027-05-03"]
        elif tag == "input" and kind == "datetime-local":
            form.body[name] = [given.get("value") or "2027-05-03T14:00"]
        elif tag == "input" and kind == "number":
            form.body[name] = [given.get("value") or "1"]
        elif tag == "input" and kind == "hidden":
            form.body[name] = [given.get("value", "")]

    def handle_endtag(self, tag: str) -> None:
        if tag == "select":
            self._select = ""
        elif tag == "form":
            self._form = None
