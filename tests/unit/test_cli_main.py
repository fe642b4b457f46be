"""`lungeline`: finds the command, stays light, and never shows a traceback for what a person typed."""

import json
import os
import signal
import subprocess
import sys
from importlib.metadata import version

import pytest

from lungeline.cli import main as door
from lungeline.cli.main import main

HEAVY = "{'numba', 'numpy', 'matplotlib', 'lungeline.case', 'lungeline.reference'}"


def python(code: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)


def test_help_lists_the_commands(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    told = capsys.readouterr().out
    for command in ("figures", "simulate"):
        assert f"    {command} " in told
    assert "not a medical device" in told


def test_a_command_that_is_not_there_yet_is_not_offered(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(door.COMMANDS, "nowhere", "leads nowhere")
    assert main([]) == 0
    assert "nowhere" not in capsys.readouterr().out
    assert main(["nowhere"]) == 2


@pytest.mark.parametrize("words", [["--help"], ["simulate", "--help"], ["--version"]])
def test_help_and_version_load_nothing_heavy(words: list[str]) -> None:
    code = (
        "import sys; from lungeline.cli.main import main\n"
        f"try: main({words!r})\n"
        "except SystemExit as left: assert not left.code, left.code\n"
        f"assert not {HEAVY} & sys.modules.keys(), {HEAVY} & sys.modules.keys()"
    )
    done = python(code)
    assert done.returncode == 0, done.stderr
    assert done.stdout


def test_importing_the_package_loads_nothing_heavy() -> None:
    done = python(f"import sys, lungeline; assert not {HEAVY} & sys.modules.keys(); lungeline.Case")
    assert done.returncode == 0, done.stderr


def test_the_package_offers_its_public_names() -> None:
    code = (
        "import lungeline as ll\n"
        "from lungeline import *\n"
        "assert all(getattr(ll, name) is not None for name in ll.__all__)\n"
        "assert {'case', 'reference', 'load_case'} <= set(dir(ll))\n"
        "assert ll.reference.figure('defaults.horse.peep_cmh2o').unit == 'cmh2o'\n"
        "try: ll.nothing\n"
        "except AttributeError as error: assert 'nothing' in str(error)\n"
        "else: raise SystemExit(1)"
    )
    done = python(code)
    assert done.returncode == 0, done.stderr


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main(["--version"])
    assert left.value.code == 0
    assert capsys.readouterr().out.strip() == f"lungeline {version('lungeline')}"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["simulat"], 'Did you mean "simulate"?'),
        (["simulate"], "CASE"),
        (["simulate", "a.toml", "--minutes", "long"], "--minutes"),
        (["simulate", "a.toml", "--nonsense"], "--nonsense"),
        (["simulate", "none.toml"], "none.toml"),
        (["--nonsense"], "--nonsense"),
    ],
)
def test_what_cannot_be_used_is_told_on_standard_error(
    capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert main(words) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("lungeline: ")
    assert said in told.err
    assert "Traceback" not in told.err


@pytest.mark.parametrize(
    "words", [["simulate", "none.toml", "--json"], ["simulate", "--json"], ["nothing", "--json"]]
)
def test_with_json_the_error_is_json_too(capsys: pytest.CaptureFixture[str], words: list[str]) -> None:
    assert main(words) == 2
    told = capsys.readouterr()
    assert set(json.loads(told.out)["error"]) == {"code", "where", "given", "allowed", "do"}
    assert told.err


def test_the_person_stops_it_quietly(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(_words: list[str]) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(door, "_run", stopped)
    assert main([]) == 128 + signal.SIGINT  # as shells tell a process ended by that signal
    assert capsys.readouterr().err == ""


def test_a_reader_who_leaves_early_is_no_error() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    code = "import sys; from lungeline.cli.main import main; sys.exit(main(['figures']))"
    with os.fdopen(writing, "w") as pipe:
        done = subprocess.run([sys.executable, "-c", code], stdout=pipe, stderr=subprocess.PIPE, check=False)
    assert done.returncode == 128 + signal.SIGPIPE
    assert done.stderr == b""
