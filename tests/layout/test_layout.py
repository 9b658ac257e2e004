"""The shape of the tree: small files, named queries, everything packed, nothing of one machine."""

import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGES = ("pipeline", "checks", "reports")
LONGEST = 300
WORDS = "one table, a rule after the other: what each says in one language"
# Files that may be longer, each with the reason.
LONG: dict[str, str] = {
    "checks/limits.toml": "one table, a limit after the other, as people look them up",
    "pipeline/book/sql/macros.sql": "every formula of the trade in one place",
    **{f"checks/words/{language}.toml": WORDS for language in ("es", "fr", "pt", "sw")},
}
CODE = (".py", ".sql", ".toml", ".j2", ".typ")


def files(*suffixes: str) -> Iterator[Path]:
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*")):
            if path.suffix in suffixes and path.is_file():
                yield path


def name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def test_no_file_is_longer_than_one_job_needs() -> None:
    lengths = {name(path): len(path.read_text("utf-8").splitlines()) for path in files(*CODE)}
    assert len(lengths) > 100
    too_long = {path: n for path, n in lengths.items() if n > LONGEST and path not in LONG}
    assert not too_long
    assert all(lengths.get(path, 0) > LONGEST for path in LONG), "a reason that is needed no more"


@pytest.mark.parametrize("path", list(files(".sql")), ids=name)
def test_every_query_says_its_grain_first(path: Path) -> None:
    first = path.read_text("utf-8").partition("\n")[0]
    assert first.startswith("-- Grain: "), first


def test_every_query_is_used_by_its_name() -> None:
    texts = "\n".join(path.read_text("utf-8") for path in files(".py"))
    # The names that a rule table or list of figures makes others from.
    named = {
        "check_": "check_{kind}",
        "few_": "few_{kind}",
        "value_": "value_{query}",
        "members_": "members_{name}",
    }
    for path in files(".sql"):
        stem = path.stem
        used = re.search(rf"""["'/]{stem}["'.]""", texts) is not None
        prefix = next((start for start in named if stem.startswith(start)), "")
        if not used and prefix and named[prefix] in texts:
            used = re.search(rf'"{stem.removeprefix(prefix)}', texts) is not None or (
                stem.startswith("value_group_")
                and re.search(rf'"{stem.removeprefix("value_group_")}"', texts) is not None
            )
        if not used and prefix in ("check_", "few_"):
            used = (ROOT / f"pipeline/intake/kinds/{stem.removeprefix(prefix)}.toml").is_file()
        if not used and stem.startswith("package_"):
            declared = (ROOT / "reports/package.toml").read_text("utf-8")
            used = f'name = "{stem.removeprefix("package_")}"' in declared
        assert used, name(path)


def test_every_package_and_its_data_goes_into_the_wheel() -> None:
    built = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["hatch"]["build"]
    wheel = built["targets"]["wheel"]
    packed = set(wheel["only-include"])
    assert set(PACKAGES) < packed
    assert not {"exclude", "include", "packages"} & set(wheel)
    with_code = {path.parent.relative_to(ROOT).parts[0] for path in ROOT.glob("*/__init__.py")}
    assert with_code - {"tests"} == set(PACKAGES)
    source = set(built["targets"]["sdist"]["only-include"])
    assert packed | {"tests"} <= source
    assert all((ROOT / entry).exists() for entry in source)


def test_every_folder_with_modules_is_a_package() -> None:
    for folder in {path.parent for path in files(".py")}:
        assert (folder / "__init__.py").is_file(), name(folder)


def test_imports_run_one_way() -> None:
    command = shutil.which("lint-imports", path=str(Path(sys.executable).parent))
    assert command, "import-linter is not installed: make setup"
    done = subprocess.run(
        [command, "--no-logo", "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


# Split, so that this file does not hold what it looks for.
OF_ONE_MACHINE = [
    "/" + "work/",
    "/" + "root/",
    "/" + "home/",
    "pypi." + "org",
    "pythonhosted." + "org",
    "npmjs." + "org",
]
LOOKED_IN = (*CODE, ".md", ".txt", ".cfg", ".yaml", ".yml", ".csv", ".json", ".typ", "")


def test_no_committed_file_names_a_machine_or_a_registry() -> None:
    git = shutil.which("git")
    assert git
    listed = subprocess.run(
        [git, "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    if listed.returncode:
        pytest.skip("not a checkout")
    paths = [ROOT / entry for entry in listed.stdout.split("\0") if entry]
    found = [
        (name(path), machine)
        for path in paths
        if path.suffix in LOOKED_IN and path.is_file()
        for machine in OF_ONE_MACHINE
        if machine.encode() in path.read_bytes()
    ]
    assert len(paths) > 100
    assert not found
