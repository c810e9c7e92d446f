"""The one test command: which tests run where, and when the whole has failed."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.__main__ import ROOT, split, verdict

# What somebody gave the whole run to say more or less is not for the runs within it.
PLAIN = {name: value for name, value in os.environ.items() if name != "PYTEST_ADDOPTS"}


def test_it_tells_paths_of_tests_from_options_and_their_values() -> None:
    options, paths = split(["-k", "tests", "tests/sites", "-x", "tests/test_command.py::test_it", "sites"])
    assert paths == ["tests/sites", "tests/test_command.py::test_it"]
    assert options == ["-k", "tests", "-x", "sites"]


@pytest.mark.parametrize(
    ("statuses", "chosen", "whole"),
    [
        ([0, 0], False, 0),
        ([1, 0], False, 1),
        ([0, 2], False, 2),
        ([0, 5], False, 5),  # nothing was chosen, so a part without tests is a fault
        ([5, 0], True, 0),
        ([5, 5], True, 5),
        ([5, 1], True, 1),
    ],
)
def test_it_fails_where_a_part_failed_or_nothing_ran(statuses: list[int], chosen: bool, whole: int) -> None:
    assert verdict(statuses, chosen=chosen) == whole


@pytest.mark.parametrize(("required", "status"), [("", 0), ("1", 1)])
def test_it_says_in_a_line_that_there_is_no_chromium(tmp_path: Path, required: str, status: int) -> None:
    environment = {**PLAIN, "PATH": str(tmp_path), "DOWNLEAD_REQUIRE_BROWSER": required}
    ran = subprocess.run(
        [sys.executable, "-m", "tests", "tests/browser"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
    )
    assert ran.returncode == status
    assert ran.stderr.count("\n") == 1
    assert "Browser tests did not run" in ran.stderr


def test_it_leaves_browser_tests_out_of_a_run_with_others() -> None:
    listed = subprocess.run(
        [sys.executable, "-m", "pytest", "--collect-only", "-q", "tests/browser", "tests/test_command.py"],
        cwd=ROOT,
        env=PLAIN,
        capture_output=True,
        text=True,
    )
    assert "tests/test_command.py::" in listed.stdout
    assert "tests/browser/" not in listed.stdout


@pytest.mark.parametrize(("required", "status"), [("", 0), ("1", 1)])
def test_it_skips_or_fails_without_chromium_when_asked_directly(
    tmp_path: Path, required: str, status: int
) -> None:
    environment = {**PLAIN, "PATH": str(tmp_path), "DOWNLEAD_REQUIRE_BROWSER": required}
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "tests/browser/test_checks.py"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
    )
    assert ran.returncode == status
    assert "there is no Chromium here" in ran.stdout + ran.stderr
