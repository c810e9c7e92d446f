"""Which static files there are: our own, and seven named files of three libraries; nothing else is served."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import allauth
import bootstrap_wrapper
import font_source_sans_pro
from django.contrib.staticfiles import utils
from django.contrib.staticfiles.finders import AppDirectoriesFinder, BaseFinder
from django.core.files.storage import FileSystemStorage

OWN_APPS = ("sites", "inspections", "reports")
LIBRARY_PREFIX = "vendor"
ALLAUTH = Path(allauth.__file__).parent
LIBRARY_FILES: tuple[tuple[Path, tuple[str, ...]], ...] = (
    # The stylesheet's last line names the map; collecting under hashed names refuses a missing file.
    (bootstrap_wrapper.get_bootstrap_css_dir(), ("bootstrap.min.css", "bootstrap.min.css.map")),
    (
        Path(font_source_sans_pro.font_directory),
        ("SourceSansPro-Regular.ttf", "SourceSansPro-Semibold.ttf"),
    ),
    # Passkeys: what the browser is asked, and what begins it without a script in the page.
    (ALLAUTH / "mfa" / "static" / "mfa" / "js", ("webauthn-json.js", "webauthn.js")),
    (ALLAUTH / "account" / "static" / "account" / "js", ("onload.js",)),
)


class OwnFilesFinder(AppDirectoriesFinder):
    """Files under ``static/`` in our own apps; other apps bring files that no page of ours asks for."""

    def __init__(self, app_names: Any = None, *args: Any, **kwargs: Any) -> None:
        super().__init__(OWN_APPS, *args, **kwargs)


class LibraryFilesFinder(BaseFinder):
    """The named files of ``LIBRARY_FILES``, under ``vendor/``."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        self.served: list[tuple[str, FileSystemStorage]] = []
        for folder, names in LIBRARY_FILES:
            storage = FileSystemStorage(location=folder)
            storage.prefix = LIBRARY_PREFIX  # type: ignore[attr-defined]
            self.served.extend((name, storage) for name in names)

    def check(self, **kwargs: Any) -> list[Any]:
        return []

    def find(self, path: str, find_all: bool = False, **kwargs: Any) -> Any:
        find_all = kwargs.get("all", find_all)  # Django 5.2 still lets callers use the older name
        found = [storage.path(name) for name, storage in self.served if path == f"{LIBRARY_PREFIX}/{name}"]
        if find_all:
            return found
        return found[0] if found else None

    def list(self, ignore_patterns: Any) -> Iterator[tuple[str, FileSystemStorage]]:
        for name, storage in self.served:
            if not utils.matches_patterns(name, ignore_patterns or []):  # None: nothing is ignored
                yield name, storage
