"""The commands: cost sheets and prices from a file, books in and out, papers; bad input named and nothing written."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pypdf
import pytest

from tests.demo_book import WORKSHOP

ROOT = Path(__file__).parents[2]
BOOK = str(WORKSHOP / "book.json")


def command(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "server", *arguments], cwd=ROOT, capture_output=True, text=True, check=False, timeout=300
    )


def test_a_piece_is_printed_with_its_sheet_and_reasons() -> None:
    done = command("price", BOOK, "--piece", "TK102", "--finish", "satin")
    assert done.returncode == 0, done.stderr
    for words in (
        "Metal",
        "13.0831",
        "31.0011",
        "works cost 31.00 ÷ (1 − 0.3) = 44.29",
        "price point 44.25",
        "retail: 97.00",
    ):
        assert words in done.stdout


def test_json_holds_the_tree_and_every_price() -> None:
    data = json.loads(command("price", BOOK, "--piece", "TK102", "--json").stdout)
    assert {sheet["finish"] for sheet in data["cost_sheets"]} == {"satin", "bright"}
    assert data["cost_sheets"][0]["works_cost"] == "31.0011"
    assert len(data["prices"]) == 10


def test_three_planted_faults_are_all_named_and_nothing_is_written(tmp_path: Path) -> None:
    data: dict[str, Any] = json.loads(Path(BOOK).read_text(encoding="utf-8"))
    data["pieces"][1]["packing"] = "1,20"
    data["pieces"][2]["family"] = "Tankrads"
    data["channels"][0]["checks"]["floor_margin"] = "1.5"
    broken, out = tmp_path / "broken.json", tmp_path / "list.pdf"
    broken.write_text(json.dumps(data), encoding="utf-8")
    for arguments in (
        ("price", str(broken)),
        ("book", "import", str(broken), "--database", f"sqlite:///{tmp_path}/x.db"),
        ("list", str(broken), "--from", "2026-01-01", "--until", "2026-12-31", "--out", str(out)),
    ):
        done = command(*arguments)
        assert done.returncode == 2
        assert done.stdout == ""
        lines = done.stderr.strip().splitlines()
        assert len(lines) == 3, lines
        assert any("pieces TK102, packing: found '1,20'" in line for line in lines)
        assert any('pieces TK103, family: found "Tankrads"' in line for line in lines)
        assert any("channels retail, checks.floor_margin: found '1.5'" in line for line in lines)
    assert not out.exists()


@pytest.mark.parametrize(
    "arguments",
    [
        ("price", "no-such-file.json"),
        ("price", BOOK, "--piece", "NONE"),
        ("price", BOOK, "--channel", "nobody"),
        ("list", BOOK, "--from", "soon", "--until", "2026-12-31", "--out", "x.pdf"),
        ("list", BOOK, "--from", "2026-01-01", "--until", "2026-12-31", "--channel", "nobody", "--out", "x.pdf"),
    ],
)
def test_bad_input_ends_with_two_and_words(arguments: tuple[str, ...]) -> None:
    done = command(*arguments)
    assert done.returncode == 2
    assert "allowed is" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_book_goes_in_and_comes_out_the_same_and_again_changes_nothing(tmp_path: Path) -> None:
    database, out = f"sqlite:///{tmp_path}/own.db", tmp_path / "out.json"
    first = command("book", "import", BOOK, "--database", database)
    again = command("book", "import", BOOK, "--database", database)
    assert "brought in" in first.stdout
    assert "already here" in again.stdout
    assert command("book", "export", str(out), "--database", database).returncode == 0
    third = command("book", "import", str(out), "--database", database)
    assert "already here" in third.stdout


def test_papers_are_written_from_a_file(tmp_path: Path) -> None:
    asked, out = tmp_path / "asked.json", tmp_path / "quote.pdf"
    asked.write_text(
        json.dumps(
            {
                "list_number": "2026",
                "channel": "retail",
                "date": "2026-06-01",
                "lines": [{"piece": "TK102", "finish": "satin", "quantity": 6}],
            }
        )
    )
    done = command("quote", str(asked), "--book", BOOK, "--out", str(out))
    assert done.returncode == 0, done.stderr
    assert "582.00" in "".join(page.extract_text() for page in pypdf.PdfReader(out).pages)


def test_a_workshop_of_ones_own_begins_with_a_password_that_is_not_common(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    database = f"sqlite:///{tmp_path}/own.db"
    monkeypatch.setenv("TINWRIGHT_OWNER_PASSWORD", "password1234")
    assert command("init", "--database", database).returncode == 2
    monkeypatch.setenv("TINWRIGHT_OWNER_PASSWORD", "a lathe and a ladle")
    assert command("init", "--database", database).returncode == 0
    assert command("init", "--database", database).returncode == 2
