"""``manage.py validate``: the shipped cases pass, a changed one is found and named, the paper reads back.

No test here is allowed a database.
"""

import copy
import json
import subprocess
import sys
from datetime import UTC, datetime
from io import BytesIO, StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from pypdf import PdfReader

from inspections.cases.validation import SHIPPED, code_sha256
from inspections.cases.validation_run import validation
from reports.pdf.validation import render
from sites.archive.manifest import product_version

ROOT = Path(__file__).resolve().parents[2]
AT = datetime(2027, 5, 3, 9, 30, tzinfo=UTC)
FILES = sorted(SHIPPED.glob("*.json"))


def run(*options):
    out, err = StringIO(), StringIO()
    status = 0
    try:
        call_command("validate", *options, stdout=out, stderr=err)
    except SystemExit as stopped:
        status = stopped.code
    return status, out.getvalue(), err.getvalue()


def spoilt(tmp_path, name, case_id, place, value):
    """A copy of a shipped file with one expected value changed."""
    told = json.loads((SHIPPED / name).read_text(encoding="utf-8"))
    (case,) = [case for case in told["cases"] if case["id"] == case_id]
    assert case["expected"][place] != value
    case["expected"][place] = value
    path = tmp_path / name
    path.write_text(json.dumps(told), encoding="utf-8")
    return path


def test_it_passes_the_shipped_cases_and_says_by_what_they_were_computed():
    status, out, err = run()
    assert (status, err) == (0, "")
    assert out.rstrip().endswith("all agree.")
    assert code_sha256() in out
    assert f"Downlead {product_version()}" in out
    assert f"Python {sys.version.split()[0]}" in out
    head = next(line for line in out.splitlines() if line.startswith("Case "))
    assert head.split() == ["Case", "Source", "Input", "Expected", "Got", "Tolerance", "Result"]
    assert "from memory" in out


@pytest.mark.parametrize(
    ("name", "case_id", "place", "value"),
    [
        ("working.json", "w-guarded-between-low", "outcome", "within limit"),
        ("working.json", "w-repeats-mean", "uncertainty_ohm", "0.0000701"),
        ("working.json", "w-floor-kept", "questions", {"holds": "parallel path?"}),
        ("dates.json", "d-rolling-clip", "obligations[0].due", "2027-03-03"),
        ("calculate.json", "c-rod", "result.resistance", "46.4 ohm"),
        ("calculate.json", "c-conformity-two-sided", "result.probability", "0.67"),
    ],
)
def test_it_finds_a_mismatch_names_the_case_and_exits_with_1(tmp_path, name, case_id, place, value):
    status, out, err = run("--cases", str(spoilt(tmp_path, name, case_id, place, value)))
    assert (status, err) == (1, "")
    wrong = [line for line in out.splitlines() if line.startswith("Differs: ")]
    assert len(wrong) == 1
    assert wrong[0].startswith(f"Differs: {case_id}, {place}: expected ")
    assert "1 differ." in out


def test_it_answers_with_one_object(tmp_path):
    path = spoilt(tmp_path, "calculate.json", "c-plate", "result.resistance", "44 ohm")
    status, out, _ = run("--cases", str(path), "--json")
    found = json.loads(out)
    assert (status, found["differing"], found["cases_from"]) == (1, 1, "calculate.json")
    assert found["calculation_sha256"] == code_sha256()
    assert datetime.fromisoformat(found["date"]).tzinfo is not None
    assert found["checks"] == len(found["results"])
    (row,) = [row for row in found["results"] if row["result"] == "differs"]
    assert (row["case"], row["expected"], row["got"]) == ("c-plate", "44 ohm", "44.31134627 ohm")
    assert row["input"] == {"name": "plate", "inputs": {"resistivity": "100 ohm*m", "area": "1 m²"}}


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_it_runs_one_file_of_ones_own(path):
    assert run("--cases", str(path))[0] == 0


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "not JSON"),
        ("[]", "one JSON object"),
        ("{}", "cases is missing"),
        ('{"cases": []}', "at least one case"),
        ('{"cases": [{"id": "a"}]}', "command is missing"),
    ],
)
def test_it_ends_with_2_and_a_sentence_for_a_file_that_cannot_be_used(tmp_path, content, words):
    path = tmp_path / "own.json"
    path.write_text(content, encoding="utf-8")
    status, out, err = run("--cases", str(path))
    assert (status, out) == (2, "")
    assert words in err
    assert len(err.strip().splitlines()) == 1


@pytest.mark.parametrize(
    "arguments", [["--cases"], ["--cases", "missing.json"], ["extra"], ["--yaml"]], ids=str
)
def test_it_ends_with_2_and_a_sentence_from_the_command_line(tmp_path, arguments):
    done = subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), "validate", *arguments],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.strip().splitlines()) == 1
    assert "Traceback" not in done.stderr


# ------------------------------------------------------------------ the paper


def text_of(pdf):
    """All words of the paper with plain spaces, a line end counting as one."""
    pages = PdfReader(BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text().replace("\u00a0", " ").split()) for page in pages)


def test_it_writes_a_paper_that_reads_back(tmp_path):
    path = tmp_path / "validation.pdf"
    status, _, err = run("--pdf", str(path))
    assert (status, err) == (0, "")
    assert list(tmp_path.iterdir()) == [path], "no draft is left beside it"
    text = text_of(path.read_bytes())
    words = (
        "all as expected",
        code_sha256(),
        "Formulas",
        "Signature",
        "Inspection body",
        "Name",
        "Input: bond",
    )
    for each in (*words, "declares no installation safe", "from memory"):
        assert each in text
    for case in ("w-guarded-half", "d-zone-skipped", "c-wenner-handbook", "c-two-layer-100-300-32"):
        assert case in text


def test_it_puts_what_differs_first_on_the_paper(tmp_path):
    file = spoilt(tmp_path, "dates.json", "d-rolling-leap", "obligations[0].due", "2025-03-01")
    path = tmp_path / "validation.pdf"
    assert run("--cases", str(file), "--pdf", str(path))[0] == 1
    first = text_of(path.read_bytes())
    assert "1 value not as expected" in first
    assert first.index("What is not as expected") < first.index("d-rolling-leap")
    assert first.index("d-rolling-leap") < first.index("Rules and visits that become due days")
    assert "2025-03-01" in first and "2025-02-28" in first


def test_it_numbers_its_pages_and_carries_the_day_of_the_run():
    reader = PdfReader(BytesIO(render(validation(str(FILES[0]), at=AT))))
    last = len(reader.pages)
    assert f"page {last} of {last}" in reader.pages[-1].extract_text().replace("\u00a0", " ")
    assert "3 May 2027, 09:30" in text_of(render(validation(str(FILES[0]), at=AT)))
    assert reader.metadata.creation_date.date() == AT.date()
    assert reader.metadata.title == "Validation of the calculation"


def test_it_makes_the_same_bytes_of_the_same_run():
    done = validation(str(FILES[0]), at=AT)
    assert render(done) == render(done)


def test_it_draws_whatever_a_file_of_ones_own_says(tmp_path):
    told = json.loads(FILES[0].read_text(encoding="utf-8"))
    case = copy.deepcopy(told["cases"][0]) | {"checks": "Łódź <b>鉄</b> & more " * 60, "id": "x" * 300}
    path = tmp_path / "own.json"
    path.write_text(json.dumps({"cases": [case]}), encoding="utf-8")
    text = text_of(render(validation(str(path), at=AT)))
    assert "Łódź <b>[U+9244]</b> & more" in text


def test_it_replaces_a_paper_and_says_where_it_cannot_write(tmp_path):
    path = tmp_path / "validation.pdf"
    path.write_bytes(b"older")
    assert run("--cases", str(FILES[0]), "--pdf", str(path))[0] == 0
    assert path.read_bytes().startswith(b"%PDF")
    status, out, err = run("--cases", str(FILES[0]), "--pdf", str(tmp_path / "no" / "such.pdf"))
    assert (status, out) == (2, "")
    assert "cannot be written" in err
