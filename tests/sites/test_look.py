"""The look's files: readable colours, nothing from elsewhere, the very library files that were examined."""

import hashlib
import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.core.management import call_command

from sites.templatetags.states import OF_ONE_SORT, STATES

OWN = Path(__file__).parents[2] / "sites"
STYLES = sorted((OWN / "static/downlead").glob("*.css"))
TEMPLATES = sorted((OWN / "templates").rglob("*.html"))

# Taken from the published wheels bootstrap-wrapper 5.3.8.post1, font-source-sans-pro 0.0.1 and django-allauth.
LIBRARY_SHA256 = {
    "vendor/bootstrap.min.css": "d85327d99c7a3ee1f9b5d0500d1370acea3ad2db39c163c2f51f232baedbdede",
    "vendor/bootstrap.min.css.map": "48144faf6aa0fb3cd2ce748d9730238f888f4ab715f05dabd1c9af2c5671988a",
    "vendor/SourceSansPro-Regular.ttf": "b77f3a700edd0fc0dec73258f882d5c3926c77f5caf6800a201d2166568d2309",
    "vendor/SourceSansPro-Semibold.ttf": "b440fd42fd5a54e1b252731deca9cc86604bee6ffa99281f5874c3476eb17eae",
    "vendor/webauthn-json.js": "d7088f0d91b85ad37c2d8c1f34710f0f495fa17732e686cea6abdd5599ddf56d",
    "vendor/webauthn.js": "c7be11a4703019afc6cfcbfb864b4f467966e920d02573a947f740a4ddb39730",
    "vendor/onload.js": "1af670ed1218c4efbd25bd354323ccddc144dc64414fc93760b5c2cec6d89580",
}

# Text, ground, least ratio: WCAG 2.2, success criteria 1.4.3 (text, 4.5) and 1.4.11 (marks and borders, 3).
READ_ON = [
    *(
        (text, ground, 4.5)
        for text in ("ink", "ink-2", "ink-3", "copper", "verdigris")
        for ground in ("paper", "sheet", "well")
    ),
    *((text, ground, 4.5) for text in ("ink", "ink-2") for ground in ("copper-wash", "verdigris-wash")),
    ("copper", "copper-wash", 4.5),
    ("verdigris", "verdigris-wash", 4.5),
    ("on-copper", "copper-solid", 4.5),
    ("paper", "verdigris", 4.5),
    ("on-ink", "ink", 4.5),
    ("on-ink", "ink-hover", 4.5),
    *((mark, ground, 3) for mark in ("edge", "focus") for ground in ("paper", "sheet", "well")),
]
SCHEMES = {"light": ":root,", "dark": '[data-bs-theme="dark"] {', "auto": '[data-bs-theme="auto"] {'}


def tokens(scheme: str) -> dict[str, str]:
    """The colours of one scheme, as #rrggbb."""
    css = (OWN / "static/downlead/tokens.css").read_text()
    start = css.index(SCHEMES[scheme])
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6})", css[start : css.index("}", start)]))


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb. Source: WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Source: WCAG 2.2, definition of contrast ratio: (lighter + 0.05) / (darker + 0.05)."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_it_reckons_contrast_as_the_guideline_does() -> None:
    # Black on white is 21 by definition; #767676 is the well-known lightest grey that passes on white (4.54).
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("mark", "ground", "least"), READ_ON)
def test_it_keeps_every_pair_of_colours_readable(scheme: str, mark: str, ground: str, least: float) -> None:
    colours = tokens(scheme)
    assert contrast(colours[mark], colours[ground]) >= least


def test_it_names_the_same_colours_for_dark_and_for_a_dark_device() -> None:
    assert tokens("dark") == tokens("auto")
    assert set(tokens("light")) == set(tokens("dark"))


def test_it_makes_copper_and_verdigris_equal_in_grey() -> None:
    light = tokens("light")
    assert luminance(light["copper"]) == pytest.approx(luminance(light["verdigris"]), abs=0.01)


@pytest.mark.parametrize(("name", "digest"), LIBRARY_SHA256.items())
def test_it_serves_the_library_files_that_were_examined(name: str, digest: str) -> None:
    found = finders.find(name)
    assert found, name
    assert hashlib.sha256(Path(found).read_bytes()).hexdigest() == digest


def test_it_serves_nothing_but_our_own_files_and_the_named_ones() -> None:
    served = set()
    for finder in finders.get_finders():
        for path, storage in finder.list([]):
            served.add("/".join(filter(None, (getattr(storage, "prefix", ""), path))))
    foreign = {name for name in served if not name.startswith("downlead/")}
    assert foreign == set(LIBRARY_SHA256)
    assert {f"downlead/{style.name}" for style in STYLES} <= served


@pytest.mark.parametrize("storage", ["StaticFilesStorage", "ManifestStaticFilesStorage"])
def test_it_collects_with_and_without_hashed_names(storage: str, settings, tmp_path: Path) -> None:
    settings.STATIC_ROOT = tmp_path
    settings.STORAGES = {
        **settings.STORAGES,
        "staticfiles": {"BACKEND": f"django.contrib.staticfiles.storage.{storage}"},
    }
    call_command("collectstatic", interactive=False, verbosity=0)
    tokens_css = "tokens*.css" if storage.startswith("Manifest") else "tokens.css"
    for css in (tmp_path / "downlead").glob(tokens_css):
        for url in re.findall(r'url\("(?!data:)([^"]+)"\)', css.read_text()):
            assert (css.parent / url).resolve().is_file(), url


@pytest.mark.parametrize("name", [*LIBRARY_SHA256, "downlead/tokens.css", "downlead/record.css"])
def test_it_is_served_from_the_package_without_collecting(name: str, client, settings) -> None:
    assert not settings.DEBUG
    answer = client.get(f"/static/{name}")
    assert answer.status_code == 200
    found = finders.find(name)
    assert found and b"".join(answer) == Path(found).read_bytes()


@pytest.mark.parametrize("style", STYLES, ids=lambda path: path.name)
def test_it_fetches_nothing_from_another_host(style: Path) -> None:
    css = style.read_text()
    assert "@import" not in css
    for url in re.findall(r"url\(\s*[\"']?([^\"')]+)", css):
        assert url.startswith(("../vendor/", "data:image/svg+xml,")), url


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: str(path.relative_to(OWN / "templates")))
def test_it_has_no_inline_style_or_script(template: Path) -> None:
    text = template.read_text()
    assert not re.search(r"\sstyle=|<style|\son\w+=|javascript:|(?:src|href)=\"(?:https?:)?//", text)
    # A block of data is none: no browser runs it, and the policy of content does not stop it.
    assert not re.search(r"<script(?![^>]*\s(?:src=|type=\"application/json\"))", text)


def test_it_has_a_shape_for_every_state_and_draws_each_shape_once() -> None:
    symbols = re.findall(r'<symbol id="([\w-]+)"', (OWN / "templates/parts/shapes.svg").read_text())
    assert len(symbols) == len(set(symbols))
    shapes = {family: [state.shape for state in states.values()] for family, states in STATES.items()}
    assert {shape for used in shapes.values() for shape in used} <= set(symbols)
    for family, used in shapes.items():
        assert len(used) == len(set(used)), f"two states of a {family} must not share a shape"
        for other in set(shapes) - {family, OF_ONE_SORT.get(family)}:
            if OF_ONE_SORT.get(other) != family:
                assert not set(used) & set(shapes[other]), (family, other)


def test_it_uses_no_colour_token_that_is_not_defined() -> None:
    css = "".join(style.read_text() for style in STYLES)
    defined = set(re.findall(r"(?<![\w-])--([\w-]+)\s*:", css))
    used = {name for name in re.findall(r"var\(--([\w-]+)", css) if not name.startswith("bs-")}
    assert used <= defined
