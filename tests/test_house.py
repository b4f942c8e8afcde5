"""The house holds: imports point one way, pure folders stay pure, and nothing grows past its bar."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

CHECKOUT = Path(__file__).resolve().parent.parent

# The folders of journal/, in the order in which data flows through them. Each may import from itself and from
# those before it. What stands at the top of journal/ (__init__, __main__) may import anything.
FLOW = ("measures", "notes", "reckoning", "site", "commands")
DATA_ONLY = ("reference", "site_templates")

# Pure folders reckon: they touch no file, no clock, no environment, no YAML, and draw nothing.
PURE = ("measures", "notes", "reckoning")
PURE_MAY_IMPORT = frozenset(
    "__future__ abc bisect collections contextlib copy copyreg dataclasses datetime decimal difflib enum "
    "fractions functools hashlib heapq itertools math numbers operator re statistics string textwrap types "
    "typing unicodedata".split()
)
CLOCK = frozenset({"now", "today", "utcnow", "monotonic", "perf_counter", "time_ns", "localtime", "gmtime"})
PURE_MAY_NOT_CALL = frozenset({"open", "input", "print", "breakpoint", "exec", "eval", "__import__"})

# Only the function that draws, renders or reads with one of these imports it, so that tally is quick.
HEAVY = frozenset(
    "altair vl_convert PIL markdown_it jinja2 duckdb icalendar openpyxl python_calamine watchfiles nh3 "
    "segno".split()
)
LIGHT_COMMANDS = (
    ("--help",),
    ("tally", "--json"),
    ("proofread",),
    ("mix", "1 lb leaves, 1 lb coffee grounds"),
)

MODULE_LINES = 450
FUNCTION_LINES = 60
MOST_FUNCTION_LINES = 40
VAGUE_NAMES = re.compile(r"(^|_)(utils?|helpers?|managers?|misc|common|stuff|base)(_|$)")
UNFINISHED = re.compile(r"\b(TODO|FIXME|XXX|HACK|lorem ipsum|coming soon)\b", re.IGNORECASE)
REGISTRY = re.compile(
    r"\b(registry|npmjs|pypi|pythonhosted|debian|yarnpkg)\.(org|com|net|io)\b", re.IGNORECASE
)
ONE_MACHINE = re.compile(r"(?<![\w.~}/-])/(work|home|root|Users)/\w")

TOP_LEVEL = frozenset(
    {"README.md", "DEVELOPERS.md", "pyproject.toml", "journal", "entries", "site_templates", "tests", "build"}
)
SCRATCH = re.compile(r"\.|__pycache__$|dist$|.*\.egg-info$")
TEXT = frozenset(
    ".py .md .txt .toml .yaml .yml .sql .css .js .mjs .html .xml .json .csv .svg .jinja .j2".split()
)


class Import(NamedTuple):
    """One imported name, `where` it is imported, and whether that happens `at_once` when the module loads."""

    name: str
    where: str
    at_once: bool


def python_files(folder: str) -> list[Path]:
    """Every Python file below a folder of the checkout, node files left out."""
    return sorted(file for file in (CHECKOUT / folder).rglob("*.py") if "node_modules" not in file.parts)


@cache
def tree_of(file: Path) -> ast.Module:
    """The file's syntax tree, parsed once a session."""
    return ast.parse(file.read_text(encoding="utf-8"), str(file))


def module_name(file: Path) -> str:
    """`journal.notes.lines` for journal/notes/lines.py, and `journal.notes` for its __init__.py."""
    parts = file.relative_to(CHECKOUT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def is_for_types_only(node: ast.AST) -> bool:
    """Whether this is `if TYPE_CHECKING:`, which never runs."""
    return isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)


def names_imported(node: ast.AST, file: Path) -> list[str]:
    """The dotted names that one import statement asks for, `from . import x` made absolute."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if not isinstance(node, ast.ImportFrom):
        return []
    here = module_name(file).split(".") + (["__init__"] if file.name == "__init__.py" else [])
    stem = (
        [*here[: len(here) - node.level], *filter(None, [node.module])] if node.level else [node.module or ""]
    )
    return [".".join([*stem, alias.name]) for alias in node.names]


def walk(node: ast.AST, file: Path, *, at_once: bool) -> Iterator[Import]:
    """Every import below a node; those inside functions and `if TYPE_CHECKING` do not happen at once."""
    for child in ast.iter_child_nodes(node):
        where = f"{file.relative_to(CHECKOUT)}:{getattr(child, 'lineno', 0)}"
        yield from (Import(name, where, at_once) for name in names_imported(child, file))
        later = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda) or is_for_types_only(
            child
        )
        yield from walk(child, file, at_once=at_once and not later)


@cache
def imports_of(file: Path) -> tuple[Import, ...]:
    """Every import in a file, those inside functions too."""
    return tuple(walk(tree_of(file), file, at_once=True))


def folder_of(name: str) -> str:
    """The folder of journal/ that a dotted name lies in; "" for anything else."""
    parts = name.split(".")
    return parts[1] if parts[0] == "journal" and len(parts) > 1 else ""


def calls_in(file: Path) -> Iterator[tuple[str, int]]:
    """The last word of each called name, with its line: `date.today()` gives `today`."""
    for node in ast.walk(tree_of(file)):
        if isinstance(node, ast.Call):
            word = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            yield word, node.lineno


def functions_in(file: Path) -> Iterator[tuple[str, int]]:
    """Each function's name and its length in lines, its docstring not counted."""
    for node in ast.walk(tree_of(file)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            first = node.body[0]
            is_docstring = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
            docstring = (first.end_lineno or 0) - first.lineno + 1 if is_docstring else 0
            yield node.name, (node.end_lineno or 0) - node.lineno + 1 - docstring


def tracked_files() -> list[Path]:
    """The files of the checkout as git knows them; where there is no git, all but scratch."""
    if (CHECKOUT / ".git").exists() and shutil.which("git"):
        listed = subprocess.run(
            ["git", "ls-files", "-z"], cwd=CHECKOUT, capture_output=True, check=True
        ).stdout
        return [file for name in listed.decode().split("\0") if name and (file := CHECKOUT / name).is_file()]
    roots = [entry for entry in CHECKOUT.iterdir() if not SCRATCH.match(entry.name)]
    found = [
        file for root in roots for file in ([root] if root.is_file() else root.rglob("*")) if file.is_file()
    ]
    return [file for file in found if "node_modules" not in file.parts]


def test_every_folder_of_the_package_stands_in_the_table() -> None:
    """Each folder of journal/ is in the flow or holds data only, so that no room escapes the rules."""
    there = {entry.name for entry in (CHECKOUT / "journal").iterdir() if entry.is_dir()} - {"__pycache__"}
    assert not there - {*FLOW, *DATA_ONLY}, "a folder that the house's table does not know"


@pytest.mark.parametrize("folder", FLOW)
def test_imports_point_one_way(folder: str) -> None:
    """A folder imports only from itself and from those before it in the flow."""
    allowed = {"", *DATA_ONLY, *FLOW[: FLOW.index(folder) + 1]}
    wrong = [
        f"{found.where}: {folder} comes before {folder_of(found.name)} yet imports {found.name}"
        for file in python_files(f"journal/{folder}")
        for found in imports_of(file)
        if folder_of(found.name) in FLOW and folder_of(found.name) not in allowed
    ]
    assert not wrong, "\n".join(wrong)


def test_no_import_goes_in_a_circle() -> None:
    """No module of journal/ needs itself, however long the way round, function-level imports included."""
    known = {module_name(file): file for file in python_files("journal")}
    needs = {
        name: {
            target
            for found in imports_of(file)
            for target in (found.name, found.name.rpartition(".")[0])
            if target in known and target not in (name, "journal")
        }
        for name, file in known.items()
    }
    # Take away what needs nothing that is left, and what nothing that is left needs: only circles remain.
    while ends := [
        name
        for name, targets in needs.items()
        if not targets & needs.keys() or not any(name in others for others in needs.values())
    ]:
        for name in ends:
            del needs[name]
    assert not needs, "a circle:\n" + "\n".join(
        f"{name} needs {', '.join(sorted(targets & needs.keys()))}" for name, targets in sorted(needs.items())
    )


@pytest.mark.parametrize("folder", PURE)
def test_pure_folders_import_nothing_that_touches_the_world(folder: str) -> None:
    """What reckons is pure: text and today's date come in as arguments, figures go out."""
    wrong = [
        f"{found.where}: {file.stem} is pure yet imports {found.name.split('.')[0]}"
        for file in python_files(f"journal/{folder}")
        for found in imports_of(file)
        if found.name.split(".")[0] not in PURE_MAY_IMPORT | {"journal"}
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("folder", PURE)
def test_pure_folders_open_no_file_and_print_nothing(folder: str) -> None:
    """No built-in function lets the world in by the back door."""
    wrong = [
        f"{file.relative_to(CHECKOUT)}:{line}: {file.stem} is pure yet calls {word}"
        for file in python_files(f"journal/{folder}")
        for word, line in calls_in(file)
        if word in PURE_MAY_NOT_CALL
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("folder", [*PURE, "site"])
def test_only_commands_look_at_the_clock(folder: str) -> None:
    """The same journal gives the same bytes on any day, so only commands may ask what day it is."""
    wrong = [
        f"{file.relative_to(CHECKOUT)}:{line}: {file.stem} looks at the clock with {word}"
        for file in python_files(f"journal/{folder}")
        for word, line in calls_in(file)
        if word in CLOCK
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("folder", [*PURE, "site"])
def test_only_commands_look_at_the_environment(folder: str) -> None:
    """No figure and no page depends on a variable of the machine it was made on."""
    wrong = [
        f"{file.relative_to(CHECKOUT)}:{node.lineno}: {file.stem} looks at the environment"
        for file in python_files(f"journal/{folder}")
        for node in ast.walk(tree_of(file))
        if isinstance(node, ast.Attribute) and node.attr in ("environ", "getenv", "environb")
    ]
    assert not wrong, "\n".join(wrong)


def test_heavy_libraries_are_imported_where_they_draw() -> None:
    """No module of journal/ imports a heavy library when it is itself imported."""
    wrong = [
        f"{found.where}: {found.name.split('.')[0]} belongs inside the function that uses it"
        for file in python_files("journal")
        for found in imports_of(file)
        if found.at_once and found.name.split(".")[0] in HEAVY
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("words", LIGHT_COMMANDS, ids=lambda words: words[0].strip("-"))
def test_light_commands_load_nothing_heavy(words: tuple[str, ...]) -> None:
    """Commands that only count never load what draws, not even by way of another module."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "journal", *words],
        cwd=CHECKOUT, capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    loaded = {line.rpartition("|")[2].strip() for line in done.stderr.splitlines()}
    assert "journal.commands.main" in loaded, done.stderr
    assert not loaded & HEAVY


@pytest.mark.parametrize("folder", ["journal", "tests"])
def test_modules_stay_short(folder: str) -> None:
    """A module is read in one sitting."""
    lengths = {file: len(file.read_text(encoding="utf-8").splitlines()) for file in python_files(folder)}
    wrong = [
        f"{file.relative_to(CHECKOUT)} has {length} lines, the bar is {MODULE_LINES}"
        for file, length in lengths.items()
        if length >= MODULE_LINES
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("folder", ["journal", "tests"])
def test_functions_stay_short(folder: str) -> None:
    """A function fits on a screen, and nine in ten are much shorter."""
    lengths = {
        f"{file.relative_to(CHECKOUT)}: {name}": length
        for file in python_files(folder)
        for name, length in functions_in(file)
    }
    wrong = [f"{name} has {length} lines" for name, length in lengths.items() if length > FUNCTION_LINES]
    assert not wrong, "\n".join(wrong)
    long = [f"{name} has {length} lines" for name, length in lengths.items() if length >= MOST_FUNCTION_LINES]
    assert len(long) * 10 <= len(lengths), "more than one function in ten is long:\n" + "\n".join(long)


def test_every_test_says_what_must_hold() -> None:
    """Each test has a docstring of one sentence that a keeper could read as a requirement."""
    wrong = [
        f"{file.relative_to(CHECKOUT)}:{node.lineno}: {node.name} needs a docstring of one sentence"
        for file in python_files("tests")
        for node in ast.walk(tree_of(file))
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
        if not re.fullmatch(r"\S.*[.?]", (ast.get_docstring(node) or "").split("\n\n")[0], re.DOTALL)
    ]
    assert not wrong, "\n".join(wrong)


def test_the_top_level_holds_only_what_was_agreed() -> None:
    """Whoever opens the checkout sees eight names and dot-files, and nothing else."""
    names = {file.relative_to(CHECKOUT).parts[0] for file in tracked_files()}
    strangers = {name for name in names if not name.startswith(".")} - TOP_LEVEL
    assert not strangers, f"not agreed at the top of the checkout: {sorted(strangers)}"


def test_the_output_folder_is_empty_in_the_history() -> None:
    """Of build/, git knows only the file that keeps everything else out."""
    kept = [file.name for file in tracked_files() if file.relative_to(CHECKOUT).parts[0] == "build"]
    if not (CHECKOUT / ".git").exists():
        pytest.skip("this copy of the project has no history, as root or as anyone")
    assert kept == [".gitignore"]


def test_names_of_files_are_words_of_the_trade() -> None:
    """No module is named for being useful; its name says what it knows."""
    files = [*python_files("journal"), *python_files("tests")]
    assert not [str(file.relative_to(CHECKOUT)) for file in files if VAGUE_NAMES.search(file.stem)]


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (UNFINISHED, "says that something is not done"),
        (REGISTRY, "names the host of a package registry"),
        (ONE_MACHINE, "names a folder of one machine"),
    ],
    ids=["unfinished", "registry", "one machine"],
)
def test_words_without_a_place_in_the_project(words: re.Pattern[str], why: str) -> None:
    """No file says that it is unfinished, names a package registry's host, or a folder of one machine."""
    wrong = [
        f"{file.relative_to(CHECKOUT)}:{number} {why}: {line.strip()[:80]}"
        for file in tracked_files()
        if file != Path(__file__).resolve() and (file.suffix in TEXT or file.parent.name == ".ci")
        for number, line in enumerate(file.read_text(encoding="utf-8", errors="replace").splitlines(), 1)
        if words.search(line)
    ]
    assert not wrong, "\n".join(wrong)


def test_the_developers_guide_shows_the_same_house() -> None:
    """DEVELOPERS.md has a row for every folder of the flow, in the flow's order."""
    guide = (CHECKOUT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `(\w+)/` \|", guide, re.MULTILINE)
    assert [row for row in rows if row in FLOW] == list(FLOW)
