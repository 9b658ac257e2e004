"""What an issue hashes of the code that draws: all of it, so that no old paper stays."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from reports import made_with as hashed
from reports.issue import issue_documents
from tests.reports.test_issue import DAY


def names(paths):
    return {path.stem for path in paths}


def test_all_that_python_loads_to_draw_a_statement_is_hashed():
    """The interpreter's own list of modules, in a process that loads nothing but the drawing."""
    tell = "import sys, reports.drawing; print(*(n for n in sys.modules if n[:8] == 'reports.'))"
    run = subprocess.run([sys.executable, "-c", tell], capture_output=True, text=True, check=True)
    loaded = {name.removeprefix("reports.") for name in run.stdout.split()}
    assert {"statement_paper", "line_layout", "letters", "messages", "aloud"} <= loaded
    assert loaded == names(hashed.drawing_code(hashed.HOME))


@pytest.mark.parametrize(
    "line",
    ["from reports.c import d", "from reports import c", "from reports import c as d, e",
     "from reports import (\n    c as d,\n    e,\n)"],
)  # fmt: skip
def test_modules_are_found_however_they_are_imported(tmp_path, line):
    for name, text in {"drawing": "from reports.b import b", "b": line, "c": "", "e": ""}.items():
        (tmp_path / f"{name}.py").write_text(text)
    found = names(hashed.drawing_code(tmp_path))
    assert {"drawing", "b", "c"} <= found and ("e" in found) == ("e" in line.split("import")[1])


@pytest.fixture
def elsewhere(tmp_path, monkeypatch):
    """A copy of the code that the hash looks at."""
    home = tmp_path / "code"
    home.mkdir()
    for path in hashed.HOME.glob("*.py"):
        shutil.copy(path, home)
    monkeypatch.setattr(hashed, "HOME", home)
    yield home
    hashed.made_with.cache_clear()


def test_statements_are_drawn_anew_where_only_a_module_of_their_layout_changed(
    elsewhere: Path, maker, facts, say_flag, gate, tmp_path
):
    maker.member("1", "Asha Doreme", "Lower Tarrin")
    maker.finish()

    def issue(name, previous=None):
        hashed.made_with.cache_clear()
        return issue_documents(
            maker.con, facts, tmp_path / name, day=DAY, explain=say_flag, gate=gate,
            previous=previous,
        )  # fmt: skip

    issue("one")
    with (elsewhere / "group_losses.py").open("a") as other:
        other.write("# no part of a statement\n")
    assert issue("two", tmp_path / "one").rendered == 0
    with (elsewhere / "table_layout.py").open("a") as layout:
        layout.write("_AIR = 0.2\n")
    assert issue("three", tmp_path / "two").rendered == 1
