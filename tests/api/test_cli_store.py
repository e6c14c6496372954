"""The commands of whoever runs the service, over a SQLite file."""

import os
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tacticapi.advice import Adviser
from tacticapi.cli import main
from tacticapi.cli import serve as cli_serve
from tacticapi.club import Services, clubs, players, retention
from tacticapi.club.retention import SweepResult
from tacticapi.domain.rules import Rulebook
from tacticapi.rulebook import load as rule_loading
from tacticapi.store import new_id, open_engine

Run = Callable[..., Result]
BEYOND = ("--host", "0.0.0.0")
NOTHING = "01970000-0000-7000-8000-000000000000"


@pytest.fixture
def address(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The database of the commands: a file that is not there yet."""
    monkeypatch.delenv("DATABASE_URL", raising=False)
    monkeypatch.setenv("TACTICAPI_DB", str(tmp_path / "kept.db"))
    return tmp_path / "kept.db"


@pytest.fixture
def run(address: Path, rulebook: Rulebook, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setattr(rule_loading, "load", lambda paths: rulebook)  # read once a test run
    return lambda *words, **options: CliRunner().invoke(main, [str(word) for word in words], **options)


@pytest.fixture
def club(run: Run) -> str:
    assert run("db", "upgrade").exit_code == 0
    return run("club", "create", "Two Kilns").stdout.strip()


@pytest.fixture
def services(club: str, address: Path, adviser: Adviser) -> Iterator[Services]:
    engine = open_engine(f"sqlite:///{address}")
    yield Services(engine, adviser)
    engine.dispose()


def test_a_missing_database_is_told_with_the_command_that_makes_it(run, address):
    for words in (("db", "check"), ("club", "list"), ("retention", "sweep")):
        told = run(*words)
        assert told.exit_code == 1
        assert "tacticapi db upgrade" in told.stderr
    assert not address.exists()
    assert run("db", "upgrade").output == "The schema was created. The database matches this version.\n"
    assert run("db", "upgrade").output == run("db", "check").output == "The database matches this version.\n"


def test_a_database_of_another_version_is_refused(run, club, address):
    with sqlite3.connect(address) as connection:
        connection.execute("UPDATE alembic_version SET version_num = 'v9999'")
    told = run("club", "list")
    assert told.exit_code == 1
    assert "newer version" in told.stderr
    assert run("db", "upgrade").exit_code == 1


def test_an_address_that_is_none_is_told_without_its_password(run, monkeypatch):
    monkeypatch.setenv("DATABASE_URL", "mysql://court:secret@db/x")
    told = run("db", "check")
    assert told.exit_code == 1
    assert "postgresql://" in told.stderr
    assert "secret" not in told.output


def test_a_database_that_is_away_is_told_in_one_line(run, monkeypatch, tmp_path):
    away = f"postgresql://court:secret@/none?host={tmp_path}"
    monkeypatch.setenv("DATABASE_URL", away)
    for words in (("db", "check"), ("db", "upgrade"), ("club", "list"), ("serve",)):
        told = run(*words)
        assert told.exit_code == 1, words
        assert "the database cannot be used now" in told.stderr
        assert "secret" not in told.output
        assert "Traceback" not in told.output


def test_a_backup_is_a_whole_database_and_never_written_over(run, club, tmp_path):
    copy = tmp_path / "copy.db"
    assert run("db", "backup", copy).exit_code == 0
    for place in (copy, tmp_path / "no folder" / "copy.db"):
        refused = run("db", "backup", place)
        assert refused.exit_code == 1
        assert refused.stderr.startswith("Error: ")
    assert club in run("club", "list", env={**os.environ, "TACTICAPI_DB": str(copy)}).output


def test_clubs_are_listed_with_their_retention(run, club):
    assert run("club", "list").output.split("  ") == [club, "Two Kilns", "1095 days", "365 days\n"]
    for words in (("club", "create", " "), ("token", "create", club), ("token", "create", club, "--scope", "all")):
        assert run(*words).exit_code == 2


def test_a_token_is_shown_once_and_opens_its_club_until_it_is_revoked(run, club, services):
    made = run("token", "create", club, "--scope", "read", "--scope", "observe", "--expires-days", 30, "--label", "Ida")
    secret = made.stdout.strip()
    opened = clubs.authenticate(services, secret)
    assert (opened.club_id, list(opened.scopes), opened.label) == (club, ["observe", "read"], "Ida")
    listed = run("token", "list", club).output
    assert secret not in listed
    assert opened.id in listed
    assert "until" in listed
    assert run("token", "revoke", opened.id).exit_code == 0
    assert "revoked" in run("token", "list", club).output
    assert clubs.authenticate(services, secret) is None


@pytest.mark.parametrize(
    "words",
    [
        ("token", "create", NOTHING, "--scope", "read"),
        ("token", "list", NOTHING),
        ("token", "revoke", NOTHING),
        ("export", NOTHING, "-o", "none.jsonl"),
        ("erase", NOTHING, "--yes"),
        ("replay", NOTHING),
    ],
)
def test_what_is_not_there_ends_with_one(run, club, tmp_path, monkeypatch, words):
    monkeypatch.chdir(tmp_path)
    told = run(*words)
    assert told.exit_code == 1, words
    assert told.stderr.startswith("Error: no "), words
    assert not Path("none.jsonl").exists()


def test_a_club_moves_to_another_database(run, club, services, tmp_path, monkeypatch):
    players.create(services, club, "opponent", "Sleet")
    file = tmp_path / "club.jsonl"
    assert run("export", club, "-o", file).exit_code == 0
    assert run("import", file).exit_code == 2  # it is here already
    monkeypatch.setenv("TACTICAPI_DB", str(tmp_path / "other.db"))
    run("db", "upgrade")
    (tmp_path / "cut.jsonl").write_text(file.read_text().rpartition('{"end"')[0])
    told = run("import", tmp_path / "cut.jsonl")
    assert (told.exit_code, "line" in told.stderr) == (2, True)
    assert run("import", file).output == f"{club}  Two Kilns\n"
    here, there = (text.splitlines()[1:] for text in (file.read_text(), run("export", club).stdout))
    assert here == there


def test_a_player_is_erased_after_a_question(run, club, services):
    player = players.create(services, club, "opponent", "Sleet").id
    asked = run("erase", player, input="n\n")
    assert (asked.exit_code, 'Erase "Sleet" (opponent; matches: 0) for good?' in asked.stdout) == (1, True)
    assert [one.id for one in players.find(services, club)] == [player]
    assert run("erase", player, "--yes").exit_code == 0
    assert players.find(services, club) == []


def test_a_drafted_token_opens_the_first_club_of_an_empty_database(run, address, adviser):
    run("db", "upgrade")
    text = run("token", "draft").stdout.strip()
    services = Services(open_engine(f"sqlite:///{address}"), adviser)
    assert clubs.authenticate(services, text) is None
    made = clubs.adopt_first_token(services, text)
    opened: Any = clubs.authenticate(services, text)
    assert opened.id == made.id
    assert list(opened.scopes) == list(clubs.SCOPES)
    assert (
        clubs.adopt_first_token(services, clubs.Secret.new(new_id(), new_id()).text) is None
    )  # there is a token already
    services.engine.dispose()


@pytest.fixture
def served(
    run: Run, rulebook: Rulebook, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., tuple[Result, bool, str | None]]:
    """Calls serve: its result, whether it came to listen, and whether everyone shares the local club."""
    for name in ("TACTICAPI_ALLOW_OPEN", "TACTICAPI_FIRST_TOKEN"):
        monkeypatch.delenv(name, raising=False)
    listening: list[bool] = []
    monkeypatch.setattr(cli_serve, "checked_rulebook", lambda: rulebook)
    monkeypatch.setattr(cli_serve.Server, "run", lambda server: listening.append(True))

    def serve(*words: str, **environment: str) -> tuple[Result, bool, str | None]:
        listening.clear()
        monkeypatch.setenv("TACTICAPI_LOCAL", "")
        for name, value in environment.items():
            monkeypatch.setenv(name, value)
        return run("serve", *words), bool(listening), os.environ.get("TACTICAPI_LOCAL") or None

    return serve


def test_a_local_serve_makes_the_database_and_needs_no_token(served, address):
    assert served()[1:] == (True, "1")
    assert address.exists()


def test_beyond_this_machine_nothing_is_served_without_a_token_unless_told(served, club, run):
    told, listens, _ = served(*BEYOND)
    assert (told.exit_code, listens) == (2, False)
    assert "tacticapi token create" in told.stderr
    made = run("token", "create", club, "--scope", "read")
    assert served(*BEYOND)[1:] == served()[1:] == (True, None)  # with a token everyone needs one here too
    run("token", "revoke", made.stderr.split()[0])
    assert served(*BEYOND)[1] is False
    assert served(*BEYOND, TACTICAPI_ALLOW_OPEN="1")[1:] == (True, None)


def test_the_first_token_comes_from_the_environment(served, run):
    first = {"TACTICAPI_FIRST_TOKEN": run("token", "draft").stdout.strip()}
    assert served(*BEYOND, **first)[1:] == (True, None)
    assert len(run("club", "list").stdout.splitlines()) == 1
    assert served(*BEYOND, **first)[1] is True
    club = run("club", "list").stdout.split()[0]
    run("token", "revoke", run("token", "list", club).stdout.split()[0])
    assert served(*BEYOND, **first)[1] is False  # a revoked token is not revived
    told, listens, _ = served(TACTICAPI_FIRST_TOKEN="letmein")
    assert (told.exit_code, listens) == (2, False)
    assert "letmein" not in told.output


def test_a_database_of_another_version_is_not_served(served, address):
    address.touch()
    told, listens, _ = served()
    assert (told.exit_code, listens) == (1, False)
    assert "run `tacticapi db upgrade`" in told.stderr


def test_a_sweep_says_by_its_status_that_a_club_could_not_be_swept(run, club, monkeypatch):
    assert run("retention", "sweep").exit_code == 0
    monkeypatch.setattr(retention, "sweep", lambda services: SweepResult(matches=2, failed=1))
    told = run("retention", "sweep")
    assert told.exit_code == 1
    assert "deleted 2 matches" in told.stdout
    assert "could not be swept" in told.stderr
