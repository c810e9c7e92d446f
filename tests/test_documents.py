"""The documents name what there is, and the check runs what they name."""

import re
from pathlib import Path

from django.core.management import get_commands

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text()
GUIDE = (ROOT / "DEVELOPERS.md").read_text()
OURS = ("sites", "inspections", "reports")


def test_the_readme_names_every_command_of_ours() -> None:
    ours = {name for name, app in get_commands().items() if app in OURS}
    assert ours
    assert [name for name in sorted(ours) if not re.search(rf"`{name}\b", README)] == []


def test_the_check_runs_the_readmes_own_test_command() -> None:
    command = next(line for line in README.splitlines() if line.endswith("-m tests"))
    assert command in (ROOT / ".ci" / "run").read_text().splitlines()


def test_the_readme_names_every_setting_read_from_the_environment() -> None:
    settings = (ROOT / "config" / "settings.py").read_text()
    names = set(re.findall(r'environ(?:\.get)?[\[(]"(DOWNLEAD_\w+)"', settings)) - {"DOWNLEAD_DEBUG"}
    assert names
    assert [name for name in sorted(names) if f"`{name}`" not in README] == []


def test_the_guide_has_a_line_for_every_folder() -> None:
    folders = [
        path.relative_to(ROOT).as_posix()
        for app in ("config", *OURS, "fixtures", "tests")
        for path in [ROOT / app, *(ROOT / app).iterdir()]
        if path.is_dir() and path.name not in ("__pycache__",)
    ]
    assert [folder for folder in folders if f"{Path(folder).name}/" not in GUIDE] == []


def test_the_guide_says_why_each_dependency_is_there() -> None:
    project = (ROOT / "pyproject.toml").read_text()
    named = set(re.findall(r'^  "([A-Za-z0-9-]+)', project, flags=re.M)) - {"inspections", "ignore"}
    assert len(named) > 20
    assert [name for name in sorted(named) if name.lower() not in GUIDE.lower()] == []
