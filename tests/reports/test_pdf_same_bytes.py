"""The same facts give the same bytes, whenever, wherever and in whatever process they are printed."""

import hashlib
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from reports.facts import NotFacts, to_json
from reports.pdf import render
from sites.canonical import NotCanonical
from tests.reports.sample_facts import sample_facts

ROOT = Path(__file__).parents[2]
PROGRAM = (
    "import hashlib, sys; from reports.pdf import render;"
    "print(hashlib.sha256(render(sys.stdin.buffer.read().decode('utf-8'))).hexdigest())"
)


def test_it_gives_the_same_bytes_twice():
    text = to_json(sample_facts())
    assert render(text) == render(text)


@pytest.mark.parametrize(
    "environment",
    [
        {"TZ": "Pacific/Auckland", "LC_ALL": "tr_TR.UTF-8", "PYTHONHASHSEED": "1"},
        {"TZ": "America/St_Johns", "LC_ALL": "C", "PYTHONHASHSEED": "4242", "SOURCE_DATE_EPOCH": "1"},
    ],
)
def test_it_gives_the_same_bytes_in_another_process_and_another_place(environment, tmp_path):
    text = to_json(sample_facts())
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM],
        input=text.encode(),
        capture_output=True,
        check=True,
        cwd=tmp_path,
        env={**os.environ, **environment, "PYTHONPATH": str(ROOT), "HOME": str(tmp_path)},
    )
    assert done.stdout.decode().strip() == hashlib.sha256(render(text)).hexdigest()


def test_it_gives_the_same_bytes_from_several_threads_at_once():
    texts = [to_json(sample_facts(points)) for points in (20, 30, 40, 50)] * 3
    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(render, texts)) == [render(text) for text in texts]


def test_it_gives_other_bytes_for_other_facts():
    assert render(to_json(sample_facts(20))) != render(to_json(sample_facts(21)))


def test_it_prints_nothing_that_was_tampered_with():
    text = to_json(sample_facts())
    with pytest.raises(NotFacts, match="format version"):
        render(text.replace('"format_version":2', '"format_version":7'))
    with pytest.raises(NotCanonical):
        render(text.replace('"format_version":2', '"format_version": 2'))
    with pytest.raises(NotCanonical):
        render(text[:-1])


def test_it_needs_no_database_and_no_web_framework(tmp_path):
    program = "import sys, reports.pdf; print([m for m in sys.modules if m.split('.')[0] == 'django'])"
    done = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        check=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert done.stdout.decode().strip() == "[]"
