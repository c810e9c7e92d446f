"""The one test command, ``python -m tests [what pytest takes]``: everything, then the browser tests.

Paths choose tests as usual; other arguments go to both runs. The browser tests have processes of
their own, since their event loop leaks into later tests. Without Chromium they are left out with a line
saying so; DOWNLEAD_REQUIRE_BROWSER=1 makes that a failure.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TESTS = ROOT / "tests"
BROWSER = TESTS / "browser"
NOTHING_COLLECTED = 5
# Options whose next argument is a value, never a path of tests.
TAKE_A_VALUE = {
    "-k",
    "-m",
    "-n",
    "-p",
    "-o",
    "-W",
    "-c",
    "-r",
    "--maxfail",
    "--durations",
    "--ds",
    "--deselect",
}
SETS_WORKERS = ("-n", "--numprocesses", "--dist", "--pdb", "--trace")


def main(arguments: list[str]) -> int:
    """Run both parts. Returns: 0 if all that ran passed, else the first bad exit status of pytest."""
    options, paths = split(arguments)
    in_browser = [path for path in paths if located(path).is_relative_to(BROWSER)]
    elsewhere = [path for path in paths if path not in in_browser]
    statuses = []
    if not any(option.startswith(SETS_WORKERS) for option in options):
        options = ["-n", "2", "--dist", "loadgroup", *options]
    if elsewhere or not paths:
        statuses.append(pytest("--ignore", str(BROWSER), *options, *(elsewhere or [str(TESTS)])))
    if in_browser or not paths or any(BROWSER.is_relative_to(located(path)) for path in elsewhere):
        statuses.append(browser_tests(options, in_browser or [str(BROWSER)]))
    return verdict(statuses, chosen=bool(arguments))


def split(arguments: list[str]) -> tuple[list[str], list[str]]:
    """Options on one side, paths inside ``tests/`` on the other."""
    options: list[str] = []
    paths: list[str] = []
    for argument in arguments:
        is_value = bool(options) and options[-1] in TAKE_A_VALUE
        is_path = not is_value and not argument.startswith("-") and located(argument).is_relative_to(TESTS)
        (paths if is_path and located(argument).exists() else options).append(argument)
    return options, paths


def located(argument: str) -> Path:
    """The file or folder of ``path::name``."""
    return Path(argument.partition("::")[0]).resolve()


def browser_tests(options: list[str], paths: list[str]) -> int:
    if shutil.which("chromium"):
        return pytest(*options, *paths)
    required = os.environ.get("DOWNLEAD_REQUIRE_BROWSER") == "1"
    sys.stderr.write(
        "Browser tests did not run: there is no Chromium here. On Debian: apt-get install chromium.\n"
    )
    return 1 if required else 0


def pytest(*arguments: str) -> int:
    sys.stdout.flush()
    return subprocess.run([sys.executable, "-m", "pytest", *arguments], cwd=ROOT, check=False).returncode


def verdict(statuses: list[int], *, chosen: bool) -> int:
    """The exit status of the whole. A part without tests is in order only if arguments chose among them."""
    failed = [status for status in statuses if status not in (0, NOTHING_COLLECTED)]
    if failed:
        return failed[0]
    nothing_ran = NOTHING_COLLECTED in statuses and not (chosen and 0 in statuses)
    return NOTHING_COLLECTED if nothing_ran else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
