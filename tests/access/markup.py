"""What somebody who means harm would write into a field, and pages read as a browser reads them.

Pages are parsed after the HTML standard's own algorithm: what a browser would make an element of, is one here.
"""

from collections.abc import Iterator
from typing import Any
from xml.etree.ElementTree import Element

import html5lib

TAG, HANDLER = "evil-tag", "on-evil"
# Were a template to reckon with it, this product would stand on a page.
RECKONED, PRODUCT = "{{ 7777*7777 }}", str(7777 * 7777)
EVIL = f"x'\"><{TAG} {HANDLER}=1></{TAG}>{RECKONED}<script>evil()</script><img src=x onerror=evil()>"
FORMULA = "=cmd|' /C calc'!A0"
ODD = {
    "everything at once": "\t".join(
        (
            FORMULA, "gepr\u202e\u2066\u200bfdp.exe", "a\x01\x08\x0b\x1b[31m\x7f\x85b", "שלום مرحبا 👩🏽\u200d🚒 ﷽",
            "'; DROP TABLE register_client; --", "{% load x %}${7777*7777}%s%(x)s{0}",
            "--></textarea></title></select></script></style>]]><script>evil()</script>",
        )
    ),
    "NUL": "a\x00b",
    "10,000 characters": "w" * 10_000,
    "blank": " \u00a0\u2003\n",
}  # fmt: skip
SCRIPTS_OF_OURS = "/static/"
# Attributes, also with a namespace before them, whose value a browser follows or fetches.
LEADS = ("href", "src", "srcset", "action", "data", "poster", "ping", "background")


def tree_of(html: str) -> Element:
    return html5lib.parse(html, namespaceHTMLElements=False)


def born_of(html: str | Element) -> list[str]:
    """Elements and attributes that no page of ours has: each would be somebody's words taken for mark-up."""
    root = tree_of(html) if isinstance(html, str) else html
    return [words for node in root.iter() if isinstance(node.tag, str) for words in _strange(node)]


def _strange(node: Element) -> Iterator[str]:
    tag = str(node.tag).lower()
    if tag in (TAG, "iframe", "object", "embed", "base", "style") or tag.startswith("evil"):
        yield f"<{tag}>"
    if tag == "script" and (not node.get("src", "").startswith(SCRIPTS_OF_OURS) or (node.text or "").strip()):
        yield f"<script>{node.text}"
    for name, value in node.attrib.items():
        if str(name).lower().startswith("on") or name == "style":
            yield f"<{tag} {name}={value}>"
        # In any other attribute such words are only words: what stands in a field, what a cell is labelled with.
        leads = str(name).lower().endswith(LEADS)
        if leads and str(value).strip().lower().startswith(("javascript:", "data:", "vbscript:")):
            yield f"<{tag} {name}={value}>"


def check_page(answer: Any, where: str) -> Element:
    """A page on which nothing was born of words, and no template reckoned with them."""
    html = answer.content.decode()
    root = tree_of(html)
    assert not born_of(root), (where, born_of(root))
    assert PRODUCT not in html, f"{where}: a template reckoned with what somebody wrote"
    return root
