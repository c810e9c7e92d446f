"""What a page offers: its links and forms, what else it fetches, what it counts and reckons, and where that leads."""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

Attributes = list[tuple[str, str | None]]
# Where the working of a figure stands, by its family; a fold on the spot does as well.
WORKING_AT = {
    "obligation": re.compile(r"/due-days/|/past-day/structures/"),
    "verdict": re.compile(r"/readings/\d+/|[?&]only=|#readings"),
}
# A figure leads to its working from within the nearest of these, else from anywhere on its page.
ROWS = ("tr", "li")


@dataclass
class Row:
    """figures: families of what is reckoned in it; leads: its links; folds: whether something can be unfolded"""

    tag: str
    figures: list[str] = field(default_factory=list)
    leads: list[str] = field(default_factory=list)
    folds: bool = False

    @property
    def without_working(self) -> list[str]:
        led = [name for name in self.figures if any(WORKING_AT[name].search(link) for link in self.leads)]
        return [] if self.folds else [name for name in self.figures if name not in led]


@dataclass
class Page(HTMLParser):
    """links: addresses that a press or the page itself would GET; acts: addresses that a form would POST to

    counts: (address, number) of each number that says how many rows stand there
    unworked: families of figures that lead to no working
    """

    html: str
    links: list[str] = field(default_factory=list)
    acts: list[str] = field(default_factory=list)
    counts: list[tuple[str, int]] = field(default_factory=list)
    unworked: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self._form_posts = False
        self._rows = [Row("page")]
        self.feed(self.html)
        self.close()
        for row in self._rows:
            self.unworked += row.without_working

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
        self._reckon(tag, given)

    def _reckon(self, tag: str, given: dict[str, str | None]) -> None:
        if tag in ROWS:
            self._rows.append(Row(tag))
        for row in self._rows:
            row.folds = row.folds or (tag == "details" and row is self._rows[-1])
            if tag == "a":
                row.leads.append(given.get("href") or "")
        if given.get("data-figure"):
            self._rows[-1].figures.append(given["data-figure"] or "")
        if given.get("data-rows"):
            self.counts.append((given.get("href") or "", int(given["data-rows"] or 0)))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form_posts = False
        if tag in ROWS and self._rows[-1].tag == tag:
            self.unworked += self._rows.pop().without_working


def rows_at(html: str, part: str) -> tuple[int, bool]:
    """How many rows the first table of a part of a page has, and whether more pages follow. part: its id, or empty"""
    if part:
        html = html.partition(f'id="{part}"')[2].partition("</section>")[0]
    else:
        html = html.partition("<main")[2]
    body = html.partition("<tbody")[2].partition("</tbody>")[0]
    return body.count("<tr ") - body.count('<tr class="group"'), 'class="paging"' in html
