"""Which static files there are: our own, and four named files of two libraries. Nothing else is served or collected."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import bootstrap_wrapper
import font_source_sans_pro
from django.contrib.staticfiles import utils
from django.contrib.staticfiles.finders import AppDirectoriesFinder, BaseFinder
from django.core.files.storage import FileSystemStorage

OWN_APPS = ("sites", "inspections", "reports")
LIBRARY_PREFIX = "vendor"
LIBRARY_FILES: tuple[tuple[Path, tuple[str, ...]], ...] = (
    # The map is named in the stylesheet's last line; collecting under hashed names refuses a file that is not there.
    (bootstrap_wrapper.get_bootstrap_css_dir(), ("bootstrap.min.css", "bootstrap.min.css.map")),
    (
        Path(font_source_sans_pro.font_directory),
        ("SourceSansPro-Regular.ttf", "SourceSansPro-Semibold.ttf"),
    ),
)


class OwnFilesFinder(AppDirectoriesFinder):
    """Files under ``static/`` in our own apps; other installed apps bring files that no page of ours asks for."""

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
        if kwargs:
            find_all = self._check_deprecated_find_param(find_all=find_all, **kwargs)
        found = [storage.path(name) for name, storage in self.served if path == f"{LIBRARY_PREFIX}/{name}"]
        if find_all:
            return found
        return found[0] if found else None

    def list(self, ignore_patterns: Any) -> Iterator[tuple[str, FileSystemStorage]]:
        for name, storage in self.served:
            if not utils.matches_patterns(name, ignore_patterns):
                yield name, storage
