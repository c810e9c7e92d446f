"""What a page offers: its links, its forms and what else it fetches."""

from dataclasses import dataclass, field
from html.parser import HTMLParser

Attributes = list[tuple[str, str | None]]


@dataclass
class Page(HTMLParser):
    """links: addresses that a press or the page itself would GET; acts: addresses that a form would POST to"""

    html: str
    links: list[str] = field(default_factory=list)
    acts: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self._form_posts = False
        self.feed(self.html)
        self.close()

    def handle_starttag(self, tag: str, attrs: Attributes) -> None:
        given = dict(attrs)
        if tag == "form":
            self._form_posts = (given.get("method") or "get").lower() == "post"
            (self.acts if self._form_posts else self.links).append(given.get("action") or "")
        if given.get("formaction"):
            posts = (given.get("formmethod") or ("post" if self._form_posts else "get")).lower() == "post"
            (self.acts if posts else self.links).append(given["formaction"] or "")
        for name in ("href", "src", "data", "xlink:href"):
            if given.get(name) and tag not in ("base",):
                self.links.append(given[name] or "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form_posts = False
