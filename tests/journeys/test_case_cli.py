"""A case from the call to the signed record, on the command line, and what the command line refuses."""

import json
import os
import re
import shlex
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from lungeline.cli.case import ACTIONS
from lungeline.record.store.opening import open_store
from lungeline.theatre.people import RIGHTS, read_devices, read_people

PAGE = Path(__file__).resolve().parents[2] / "docs" / "record.md"
PLACES = ("star-1-csv", "for-the-audit", "stick")  # what the guide's commands write to
COMMAND = [sys.executable, "-c", "import sys; from lungeline.cli.main import main; sys.exit(main())", "case"]


class Folder:
    """Runs the command with data of its own."""

    def __init__(self, path: Path) -> None:
        """Know where the data lie."""
        self.path = path
        self.env = {key: value for key, value in os.environ.items() if not key.startswith("LUNGELINE_")} | {
            "LUNGELINE_DATA": str(path / "data"),
            "LUNGELINE_KEY_FILE": str(path / "keys" / "record.key"),
            "LUNGELINE_AUTHOR": "A. Vet",
        }

    def run(self, *words: str, status: int = 0, data: str = "data") -> str:
        """What the command printed; its message where it was refused."""
        env = {"LUNGELINE_DATA": str(self.path / data)}
        done = subprocess.run(
            [*COMMAND, *words], env=self.env | env, capture_output=True, text=True, check=False
        )
        assert done.returncode == status, done.stdout + done.stderr
        assert "Traceback" not in done.stderr
        return done.stderr if status == 2 else done.stdout

    def told(self, *words: str, data: str = "data") -> dict[str, Any]:
        """What the command says as JSON."""
        content: dict[str, Any] = json.loads(self.run(*words, "--json", data=data))
        return content


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    return Folder(tmp_path)


def test_from_the_call_to_the_signed_record_and_back_from_its_files(folder: Folder) -> None:
    opened = folder.told(
        "new", "--species", "horse", "--weight-kg", "520", "--weighed-by", "tape", "--name", "Étoile 🐴",
        "--procedure", "colic surgery",
    )  # fmt: skip
    case = opened["id"]
    folder.run("enter", case, "--item", "leak", "--passed", "--leak-ml-min", "200", "--ago-min", "40")
    folder.run("enter", case, "--phase", "induce", "--ago-min", "30")
    folder.run("enter", case, "--drug", "ketamine", "--drawn-mg", "2000", "--witness", "B. Vet")
    folder.run("enter", case, "--drug", "ketamine", "--amount-mg", "1100", "--ago-min", "30")
    wrong = folder.told("enter", case, "--heart-rate-per-min", "36", "--map-mmhg", "172")
    assert (wrong["seq"], wrong["kind"]) == (6, "reading")
    folder.run("correct", case, "6", "--because", "slip of a digit", "--map-mmhg", "72")
    slip = folder.told("enter", case, "--what", "other horse moved")
    folder.run("strike", case, str(slip["seq"]), "--because", "wrong case")
    refused = folder.run("sign", case, "--signer", "A. Vet", "--role", "anaesthetist", status=2)
    assert "record_controlled_unbalanced" in refused
    folder.run("enter", case, "--drug", "ketamine", "--wasted-mg", "900", "--witness", "B. Vet")
    folder.run("enter", case, "--phase", "recover")
    folder.run("enter", case, "--phase", "closed")
    folder.run("enter", case, "--standing-min", "50", "--attempts-number", "2", "--score", "3 of 10")
    assert "unverifiable" in folder.run("verify", case, status=1)
    signed = folder.told("sign", case, "--signer", "A. Vet", "--role", "anaesthetist")
    assert signed["head"]["count"] == signed["seq"] - 1
    assert "intact" in folder.run("verify", case)

    shown = folder.told("show", case)
    assert shown["readings"]["map_mmhg"]["value"] == 72
    (reading,) = (item for item in shown["items"] if item["seq"] == 6)
    assert (reading["corrected"], reading["first_body"]["map_mmhg"]) == (True, 172)
    assert [item["struck"] for item in shown["items"] if item["seq"] == slip["seq"]] == [True]
    assert [item["late"] for item in shown["items"] if item["kind"] == "check"] == [True]
    assert [(it["drug"], it["balanced"]) for it in shown["controlled"]] == [("ketamine", True)]
    text = folder.run("show", case)
    for said in (
        "Étoile 🐴, horse, 520 kg",
        "mean arterial pressure 172 mmHg",
        "slip of a digit",
        "struck out",
        "late",
        "signed by A. Vet",
    ):
        assert said in text

    refused = folder.run("enter", case, "--map-mmhg", "60", status=2)
    assert "addendum" in refused
    folder.run("enter", case, "--kind", "addendum", "--text", "walked well next morning")
    folder.run("export", case, str(folder.path / "csv"))
    folder.run("restore", str(folder.path / "csv"), data="other")
    before, after = (folder.told("show", case, data=data) for data in ("data", "other"))
    assert (after["items"], after["versions"]) == (before["items"], before["versions"])


def test_the_list_is_what_other_programs_read(folder: Folder) -> None:
    assert folder.told("list")["cases"] == []
    first = folder.told("new", "--species", "horse", "--name", "Star")["id"]
    second = folder.told("new", "--species", "cattle", "--name", "Nova", "--purpose", "demo")["id"]
    folder.run("correct", first, "1", "--because", "misheard", "--name", "Stern", "--weight-kg", "480")
    cases = folder.told("list")["cases"]
    assert [(it["id"], it["name"], it["weight_kg"], it["mark"]) for it in cases] == [
        (first, "Stern", 480, ""),
        (second, "Nova", None, "SIMULATED"),
    ]
    for words in (("list",), ("show", second), ("enter", second, "--map-mmhg", "70")):
        assert "SIMULATED" in folder.run(*words)
    assert "nothing simulated" in folder.run("sign", second, "--signer", "A", "--role", "vet", status=2)


def test_verify_names_the_first_entry_that_does_not_fit(folder: Folder) -> None:
    case = folder.told("new", "--species", "horse", "--name", "Star")["id"]
    for _ in range(3):
        folder.run("enter", case, "--map-mmhg", "70")
    folder.run("backup")
    assert "intact" in folder.run("verify", case)
    database = folder.path / "data" / "real.sqlite3"
    with sqlite3.connect(database) as connection:
        triggers = [
            row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type='trigger'")
        ]
        for name in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute(
            "UPDATE record_entry SET line = replace(line, '\"map_mmhg\":70', '\"map_mmhg\":90') WHERE seq = 3"
        )
    connection.close()
    assert "entry 3 (wrong hash)" in folder.run("verify", case, status=1)
    (verdict,) = json.loads(folder.run("verify", "--json", status=1))["verdicts"]
    assert (verdict["outcome"], verdict["at_seq"], verdict["reason"]) == ("changed", 3, "wrong hash")
    with sqlite3.connect(database) as connection:
        connection.execute("DELETE FROM record_entry")
    connection.close()
    assert "first that is missing: entry 1" in folder.run("verify", status=1)


def test_a_backup_is_put_back_where_no_database_is(folder: Folder) -> None:
    case = folder.told("new", "--species", "horse", "--name", "Star")["id"]
    (copy,) = folder.told("backup", str(folder.path / "stick"))["files"]
    assert "Move the old file aside" in folder.run("restore", copy, status=2)
    assert "intact" in folder.run("restore", copy, data="other")
    assert folder.told("show", case, data="other")["name"] == "Star"


def test_the_command_line_writes_beside_another_program(
    folder: Folder, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = folder.told("new", "--species", "horse", "--name", "Star")["id"]
    monkeypatch.delenv("LUNGELINE_DATABASE", raising=False)
    store = open_store(folder.path / "data", key_file=folder.path / "keys" / "record.key")
    assert folder.told("enter", case, "--map-mmhg", "70")["seq"] == 2
    assert [entry.seq for entry in store.entries_after(case, 1)] == [2]
    store.close()


def test_the_same_uid_is_entered_once(folder: Folder) -> None:
    case = folder.told("new", "--species", "horse", "--name", "Star")["id"]
    once = folder.told("enter", case, "--map-mmhg", "70", "--uid", "row-1")
    assert folder.told("enter", case, "--map-mmhg", "70", "--uid", "row-1") == once
    assert "correction" in folder.run("enter", case, "--map-mmhg", "71", "--uid", "row-1", status=2)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("enter", "{case}"), "what happened"),
        (("enter", "{case}", "--heart-rate-per-min", "3600"), "0 to 300 /min"),
        (("enter", "{case}", "--map-mmhg", "seventy"), "map-mmhg"),
        (("enter", "{case}", "--map-mmhg", "nan"), "finite"),
        (("enter", "{case}", "--map-mmhg", "70", "--drug", "ketamine"), "one entry"),
        (("enter", "{case}", "--map-mmhg", "70", "--ago-min", "5", "--at", "10:00"), "one of them"),
        (("enter", "{case}", "--map-mmhg", "70", "--at", "noon"), "14:05"),
        (("enter", "nocase", "--map-mmhg", "70"), "{case}"),
        (("correct", "{case}", "9", "--because", "x", "--map-mmhg", "70"), "1 to 1"),
        (("strike", "{case}", "1", "--because", "x"), "opening"),
        (("strike", "{case}", "1"), "--because"),
        (("sign", "{case}", "--role", "vet"), "--signer"),
        (("new", "--name", "Star"), "species"),
        (("new", "--species", "hors", "--name", "Star"), "horse"),
        (("new", "--species", "horse", "--plan", "nothing.json"), "nothing.json"),
        (("show", "{case}", "--signed"), "signed"),
        (("restore", "nothing"), "nothing"),
        (("export", "{case}", "x.jsonl", "--format", "lines", "--anonymous"), "names"),
        (("undo", "{case}"), "undo"),
    ],
)
def test_what_cannot_be_is_refused_in_words(folder: Folder, words: tuple[str, ...], said: str) -> None:
    case = folder.told("new", "--species", "horse", "--name", "Star")["id"]
    filled = [word.format(case=case) for word in words]
    assert said.format(case=case) in folder.run(*filled, status=2)
    (only,) = folder.told("list")["cases"]
    assert only["entries"] == 1


def test_without_the_key_the_record_is_read_but_not_written(folder: Folder) -> None:
    case = folder.told("new", "--species", "horse", "--name", "Star")["id"]
    (folder.path / "keys" / "record.key").rename(folder.path / "moved.key")
    assert "Put the key file back" in folder.run("enter", case, "--map-mmhg", "70", status=2)
    assert "Star" in folder.run("show", case)
    assert "no key" in folder.run("verify", case, status=1)


def test_help_needs_no_database(folder: Folder) -> None:
    code = (
        "import sys; from lungeline.cli.main import main\n"
        "for words in (['--help'], ['case', '--help'], ['case', 'enter', '--help']):\n"
        "    try: main(words)\n"
        "    except SystemExit as left: assert not left.code\n"
        "assert not {'django', 'numba', 'numpy', 'sqlite3'} & sys.modules.keys()"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], env=folder.env, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "--heart-rate-per-min" in done.stdout
    assert not (folder.path / "data").exists()


def test_the_commands_of_the_guide_do_what_it_says(folder: Folder) -> None:
    text = PAGE.read_text(encoding="utf-8")
    lines = re.findall(r"^lungeline case (.+)$", text, flags=re.MULTILINE)
    assert len(lines) > 10
    for line in lines:
        words = [str(folder.path / word) if word in PLACES else word for word in shlex.split(line)]
        printed = folder.run(*words)
        if words[0] == "verify":
            assert "intact" in printed
    assert set(PLACES) <= {path.name for path in folder.path.iterdir()}
    missing = {it["code"] for it in folder.told("show", "star-1")["missing"] if it["severity"] == "stop"}
    assert missing == set()


def test_the_list_of_people_in_the_guide_can_be_used_and_its_table_is_whole(tmp_path: Path) -> None:
    text = PAGE.read_text(encoding="utf-8")
    (block,) = re.findall(r"^```toml\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)
    path = tmp_path / "people.toml"
    path.write_text(block, encoding="utf-8")
    assert [it.role for it in read_people(path)] == ["anaesthetist", "student"]
    assert [it.shared for it in read_devices(path)] == [True]
    table = text.partition("| role | may |")[2].partition("\n\n")[0]
    rows = [row.strip("| ").split(" | ") for row in table.splitlines()[2:]]
    told = {role: set(may.partition(";")[0].split(", ")) for roles, may in rows for role in roles.split(", ")}
    assert told == {role: set(rights) for role, rights in RIGHTS.items()}


def test_the_guide_names_every_action() -> None:
    table = PAGE.read_text(encoding="utf-8").partition("| action |")[2].partition("\n\n")[0]
    firsts = [row.split("|")[1] for row in table.splitlines()[2:]]
    assert {name for cell in firsts for name in re.findall(r"`(\w+)`", cell)} == ACTIONS.keys()
