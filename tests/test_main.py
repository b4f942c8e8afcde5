"""The command line: help that costs nothing, errors in plain words, exit statuses that scripts can trust."""

from __future__ import annotations

import importlib
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from journal.commands import main as main_module
from journal.commands.console import Refusal, plain, problem_lines, sentence_of, table, width
from journal.commands.main import COMMANDS, middenbook
from journal.notes.faults import Fault
from journal.notes.place import Place, Problem
from tests.conftest import Program
from tests.journals import lay_out


def run(*words: str, env: dict[str, str | None] | None = None) -> Result:
    """Run the program within this process."""
    return CliRunner().invoke(middenbook, list(words), env=env)


@pytest.fixture
def stand_in(monkeypatch: pytest.MonkeyPatch) -> click.Command:
    """A command whose work a test can choose, in the place of `tally`."""
    command = click.Command("tally", callback=lambda: None)
    module = type(sys)("stand_in")
    module.command = command  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "stand_in", module)
    monkeypatch.setitem(COMMANDS, "tally", ("stand_in", "Show the totals."))
    return command


def test_help_names_every_command() -> None:
    """`--help` lists every command with a line on what it does, and three things to begin with."""
    done = run("--help")
    assert done.exit_code == 0
    for name, (_, words) in COMMANDS.items():
        assert f"  {name} " in done.stdout
        assert words in done.stdout
    assert "middenbook start worms" in done.stdout


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself_with_an_example(name: str) -> None:
    """`COMMAND --help` says what the command does and shows a line that can be typed."""
    done = run(name, "--help")
    assert done.exit_code == 0, done.output
    assert f"  middenbook {name}" in done.stdout
    assert "--journal FOLDER" in done.stdout
    assert COMMANDS[name][1].endswith(".")


def test_asking_for_help_loads_no_command() -> None:
    """`--help` loads neither a command nor what it works with."""
    watch = (
        "import sys, atexit\n"
        "atexit.register(lambda: print(*sorted(m for m in sys.modules if m.startswith('journal.commands.')),"
        " sep='\\n'))\n"
        "sys.argv = ['middenbook', '--help']\n"
        "from journal.commands.main import main\nmain()\n"
    )
    done = subprocess.run([sys.executable, "-c", watch], capture_output=True, encoding="utf-8", check=True)
    loaded = {line for line in done.stdout.splitlines() if line.startswith("journal.commands.")}
    assert loaded == {"journal.commands.main", "journal.commands.console"}


def test_the_table_of_commands_names_what_exists() -> None:
    """Every row of the table of commands leads to a command."""
    for module, _ in COMMANDS.values():
        assert isinstance(importlib.import_module(module).command, click.Command)


def test_the_version_names_the_editions_of_the_factor_tables() -> None:
    """`--version` says which edition of the emission factors the figures rest on."""
    done = run("--version")
    assert done.exit_code == 0
    assert done.stdout.startswith("middenbook ")
    assert "factors of 2024: US Environmental Protection Agency, Emission Factors" in done.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("publis",), 'did you mean "publish"?'),
        (("zzz",), 'there is no command "zzz"'),
        (("tally", "--jason"), "No such option"),
        (("--journal",), "requires an argument"),
        ((), "Usage:"),
    ],
)
def test_wrong_use_ends_with_two(words: tuple[str, ...], said: str) -> None:
    """What is typed wrongly is told on standard error, with status 2."""
    done = run(*words)
    assert done.exit_code == 2
    assert said in done.stderr
    assert "Traceback" not in done.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("tally", "20x"), '"20x" is no year\n  write its four digits, as in 2026\n'),
        (("tally", "99999"), '"99999" is no year\n  write its four digits, as in 2026\n'),
        (("preview", "--port", "x"), '"x" is no port\n  write a number from 0 to 65535\n'),
        (
            ("tally", "--by", "streem"),
            '--by does not know "streem"; did you mean "stream"?\n  it takes: stream, giver, bin, month\n',
        ),
        (
            ("note", "--photo", "nix.jpg", "fed"),
            'there is no file "nix.jpg"\n  look at its name, and at the folder it is looked for in\n',
        ),
        (("bring-in", "."), '"." is a folder, and a file is needed\n  name one file in it\n'),
        (
            ("publish", "--to", __file__),
            f'"{__file__}" is a file, and a folder is needed\n  name the folder\n',
        ),
    ],
)
def test_a_value_that_is_none_is_told_in_our_own_words(words: tuple[str, ...], said: str) -> None:
    """A year, a port, a choice, a file or a folder that is none gets a sentence and the way out, status 2."""
    done = run(*words)
    assert (done.exit_code, done.stdout, done.stderr) == (2, "", said)


def test_a_folder_that_cannot_be_made_is_told_with_the_way_out(program: Program, tmp_path: Path) -> None:
    """Where no folder can be made for the site, the sentence says to name another."""
    lay_out(tmp_path, "## 2026-01-02\n\n- fed 1 lb banana peels to Lower Bin\n")
    done = program("--journal", tmp_path, "publish", "--to", Path(os.devnull) / "site")
    assert done.returncode == 1
    assert "name another with --to FOLDER" in done.stderr


def test_commands_are_listed_as_a_keeper_meets_them() -> None:
    """What is brought in from elsewhere comes before what several households do together."""
    names = list(COMMANDS)
    assert names.index("start") < names.index("note") < names.index("bring-in") < names.index("club")


@pytest.mark.parametrize("side", ["before", "behind"])
def test_the_journal_is_named_before_or_behind_the_command(
    tmp_path: Path, side: str, stand_in: click.Command
) -> None:
    """`--journal` is understood on either side of the command's name."""
    from journal.commands.console import journal_folder

    (tmp_path / "entries").mkdir()
    stand_in.callback = lambda: click.echo(journal_folder())
    option = ("--journal", str(tmp_path))
    done = run(*option, "tally") if side == "before" else run("tally", *option)
    assert (done.exit_code, done.stdout.strip()) == (0, str(tmp_path))


def test_a_folder_that_is_no_journal_is_told_with_the_way_out(
    tmp_path: Path, stand_in: click.Command
) -> None:
    """Outside a journal a command names what is missing and how to lay one out, with status 2."""
    from journal.commands.console import journal_folder

    stand_in.callback = journal_folder
    done = run("--journal", str(tmp_path), "tally")
    assert done.exit_code == 2
    assert "holds no folder entries/" in done.stderr
    assert "middenbook start" in done.stderr
    (tmp_path / "entries" / "2025").mkdir(parents=True)
    inside = run("--journal", str(tmp_path / "entries" / "2025"), "tally")
    assert "do you mean --journal" in inside.stderr


@pytest.mark.parametrize(
    ("failure", "status", "said"),
    [
        (Refusal("the worms object", "ask them"), 1, "the worms object\n  ask them\n"),
        (Refusal("wrong use", "", 2), 2, "wrong use\n"),
        (FileNotFoundError(2, "No such file", "entries/x.md"), 1, "entries/x.md: it is not there"),
        (PermissionError(13, "Permission denied", "build"), 1, "build: permission is denied"),
        (OSError(28, "No space left on device", "build/x"), 1, "build/x: the disk is full"),
        (RecursionError("too deep"), 1, "this is a fault of the program"),
        (ValueError("odd"), 1, "ValueError: odd"),
        (KeyboardInterrupt(), 130, "stopped"),
        (BrokenPipeError(32, "Broken pipe"), 141, ""),
    ],
)
def test_whatever_goes_wrong_becomes_a_sentence(
    stand_in: click.Command, failure: BaseException, status: int, said: str
) -> None:
    """Every failure ends with its status and a sentence on standard error, never with a traceback."""

    def fail() -> None:
        raise failure

    stand_in.callback = fail
    done = run("tally", env={"MIDDENBOOK_TRACE": None})
    assert done.exit_code == status
    assert said in done.stderr
    assert "Traceback" not in done.output


def test_the_trace_of_a_fault_can_be_asked_for(stand_in: click.Command) -> None:
    """Whoever reports a fault of the program can see where it is."""

    def fail() -> None:
        raise ValueError("odd")

    stand_in.callback = fail
    done = run("tally", env={"MIDDENBOOK_TRACE": "1"})
    assert "Traceback" in done.stderr


def test_a_status_that_a_command_gives_back_is_the_programs(stand_in: click.Command) -> None:
    """A command ends the program with the status that it returns."""
    stand_in.callback = lambda: 1
    assert run("tally").exit_code == 1


def test_output_has_no_colour_where_no_terminal_reads(program: Program, tmp_path: Path) -> None:
    """Piped output holds no escape signs."""
    done = program("--journal", tmp_path, "tally")
    assert "\x1b" not in done.stdout + done.stderr


@pytest.mark.parametrize("variable", ["NO_COLOR", "TERM"])
def test_colour_is_left_out_where_it_is_not_wanted(stand_in: click.Command, variable: str) -> None:
    """NO_COLOR, or a terminal that cannot show it, leaves the colour out even where a terminal reads."""
    stand_in.callback = lambda: click.secho("worms", fg="green")
    runner = CliRunner()
    value = "1" if variable == "NO_COLOR" else "dumb"
    plain_one = runner.invoke(
        middenbook, ["tally"], env={"NO_COLOR": None, "TERM": "xterm", variable: value}, color=True
    )
    coloured = runner.invoke(middenbook, ["tally"], env={"NO_COLOR": None, "TERM": "xterm"}, color=True)
    assert "\x1b" not in plain_one.stdout
    assert "\x1b" in coloured.stdout


@pytest.mark.skipif(os.name == "nt", reason="this system has no SIGINT for other processes")
def test_ctrl_c_ends_quietly() -> None:
    """Ctrl-C ends the program with 130 and one word."""
    waiting = (
        "import sys, time\nfrom journal.commands import main\nimport click\n"
        "module = type(sys)('waiting')\n"
        "def wait():\n    print('ready', flush=True)\n    time.sleep(30)\n"
        "module.command = click.Command('tally', callback=wait)\n"
        "sys.modules['waiting'] = module\nmain.COMMANDS['tally'] = ('waiting', 'Wait.')\n"
        "sys.argv = ['middenbook', 'tally']\nmain.main()\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", waiting], stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8"
    ) as running:
        assert running.stdout is not None
        running.stdout.readline()
        time.sleep(0.05)
        running.send_signal(signal.SIGINT)
        _, told = running.communicate(timeout=20)
    assert (running.returncode, told.strip()) == (130, "stopped")


@pytest.mark.skipif(os.name == "nt", reason="this system has no pipes that break")
def test_a_reader_who_leaves_is_no_error(tmp_path: Path) -> None:
    """Output into a pipe that nobody reads any more ends without a word."""
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        [sys.executable, "-m", "journal", "start", tmp_path / "worms"],
        stdout=writing,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        check=False,
        cwd=Path(main_module.__file__).parents[2],
    )
    os.close(writing)
    assert done.stderr == ""
    assert done.returncode == main_module.NOBODY_READS


def test_the_shell_can_complete_commands_and_options() -> None:
    """A shell that asks gets the commands, and the options of one of them."""
    begin = {"_MIDDENBOOK_COMPLETE": "bash_complete", "COMP_CWORD": "1"}
    runner = CliRunner()
    commands = runner.invoke(
        middenbook, [], prog_name="middenbook", env={**begin, "COMP_WORDS": "middenbook p"}
    )
    assert {"plain,publish", "plain,preview", "plain,proofread"} == set(commands.stdout.split())
    options = runner.invoke(
        middenbook,
        [],
        prog_name="middenbook",
        env={**begin, "COMP_WORDS": "middenbook start --", "COMP_CWORD": "2"},
    )
    assert "plain,--units" in options.stdout.split()
    assert "plain,--journal" in options.stdout.split()


def test_a_table_is_aligned_whatever_it_holds() -> None:
    """Columns of a table line up, with wide signs counted as two and combining ones as none."""
    lines = table([["Fühlbe\u0301r", "1.5"], ["蚯蚓", "120"]], ("bin", "lb"), "<>")
    assert lines == ["bin       lb", "-------  ---", "Fühlbe\u0301r  1.5", "蚯蚓     120"]
    assert len({width(line) for line in lines}) == 1


def test_a_problem_shows_the_line_and_points_at_the_word() -> None:
    """A problem is shown with its place, its line, a caret under the words, and the way out."""
    problem = Problem(
        Fault.NO_AMOUNT,
        Place("2026.md", 12, 11),
        "cofee grounds",
        '"cofee grounds" is no material I know',
        "mend the name",
        "- fed 1 lb cofee grounds to First Bin",
    )
    assert problem_lines(problem) == [
        '2026.md:12:11: "cofee grounds" is no material I know',
        "    - fed 1 lb cofee grounds to First Bin",
        "              ^^^^^^^^^^^^^",
        "    mend the name",
    ]


def test_a_very_long_line_is_shown_around_the_word() -> None:
    """Of a line of a hundred thousand signs only the part around the word is shown."""
    source = "- fed " + "x" * 100_000 + " worms " + "y" * 1000
    at = source.index("worms") + 1
    problem = Problem(Fault.NO_AMOUNT, Place("a.md", 1, at), "worms", "odd", "", source)
    _, shown, caret = problem_lines(problem)
    assert len(shown) < 120
    assert shown[caret.index("^") :].startswith("worms")


def test_the_keepers_words_cannot_steer_the_terminal() -> None:
    """Escape signs and marks that turn the writing direction are shown as marks."""
    assert plain("a\x1b[31mred\u202eback\x00") == "a�[31mred�back�"
    assert plain("½ lb → bin, ’tis “é” 🪱") == "½ lb → bin, ’tis “é” 🪱"


def test_machine_errors_are_told_in_words() -> None:
    """An error of the machine names its file and says in words what is wrong."""
    assert sentence_of(OSError(30, "Read-only file system", "entries/2026.md")) == (
        "entries/2026.md: the disk can only be read"
    )
    assert sentence_of(OSError("odd")) == "odd"
