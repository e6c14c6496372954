"""What the documentation offers to copy, read as its program reads it: a container, a unit for systemd, a proxy."""

import configparser
import fnmatch
import re
import shlex
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from tacticapi import settings
from tacticapi.api.http.bodies import MAX_BODY
from tacticapi.settings import SETTINGS

CHECKOUT = Path(__file__).parents[2]
HASH = re.compile(r"--hash=sha256:[0-9a-f]{64}")


def lines_of(file: str) -> list[str]:
    """The instructions of a Containerfile, or the lines of a lock, continued lines joined."""
    text = (CHECKOUT / file).read_text(encoding="utf-8").replace("\\\n", " ")
    return [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]


@pytest.fixture(scope="module")
def container() -> list[tuple[str, str]]:
    """The instructions: name and arguments."""
    return [tuple(line.split(None, 1)) for line in lines_of("Containerfile")]


def test_the_container_keeps_its_database_in_a_volume_of_an_unprivileged_user(container):
    stage = container[max(place for place, (name, _) in enumerate(container) if name == "FROM") :]
    told = dict(stage)
    database = re.search(r"TACTICAPI_DB=(\S+)", told["ENV"])
    assert database
    assert str(Path(database[1]).parent) == told["VOLUME"] == told["WORKDIR"]
    assert int(told["USER"]) > 0
    assert f"--owner={told['USER']} --mode=0700 {told['VOLUME']}" in told["RUN"]
    names = [name for name, _ in stage]
    assert names.index("USER") > names.index("RUN")


def test_the_container_installs_nothing_that_is_not_pinned_by_its_hash(container):
    steps = [step for name, what in container if name == "RUN" for step in what.split("&&") if "pip install" in step]
    assert len(steps) == 3
    for step in steps:
        assert "--require-hashes" in step or ("--no-index" in step and "--no-deps" in step)


@pytest.mark.parametrize("lock", ["requirements.lock", "requirements-build.lock"])
def test_the_locks_of_the_container_pin_what_the_tests_ran_on(lock):
    tested = {line.split()[0] for line in lines_of("tests/requirements.lock")}
    for line in lines_of(lock):
        assert HASH.search(line), line
        name = line.split()[0]
        assert name in tested or name.startswith("setuptools==")  # which nothing here imports


def test_the_lock_of_the_service_holds_all_that_the_service_needs():
    pinned = dict(re.split(r"\[.*\]==|==", line.split()[0]) for line in lines_of("requirements.lock"))
    wanted = tomllib.loads((CHECKOUT / "pyproject.toml").read_text())["project"]["dependencies"]
    for need in map(Requirement, wanted):
        assert pinned[need.name.lower()] in need.specifier, need.name


def test_what_the_container_copies_is_there_and_not_left_out(container):
    ignored = lines_of(".dockerignore")
    copies = [what for name, what in container if name == "COPY" and "--from" not in what]
    copied = [source for what in copies for source in shlex.split(what)[:-1]]
    assert sorted(copied) == sorted(line[1:] for line in ignored if line.startswith("!"))
    assert all((CHECKOUT / source).exists() for source in copied)
    assert ignored[0] == "*"
    assert any(fnmatch.fnmatch("tacticapi/api/__pycache__", line) for line in ignored)


def sample(page: str, language: str, holding: str) -> str:
    text = (CHECKOUT / "docs" / page).read_text(encoding="utf-8")
    blocks = re.findall(rf"```{language}\n(.*?)```", text, re.DOTALL)
    return next(block for block in blocks if holding in block)


def test_the_unit_serves_as_nobody_else_and_stops_after_the_last_request():
    text = sample("running.md", "ini", "Type=notify")
    unit = configparser.ConfigParser(strict=False, interpolation=None, delimiters=("=",))
    unit.read_string(text)
    service = unit["Service"]
    assert (service["DynamicUser"], service["UMask"]) == ("yes", "0077")
    names = re.findall(r"^Environment=(\w+)=", text, re.MULTILINE)
    assert set(names) <= {setting.name for setting in SETTINGS}
    assert f"Environment=TACTICAPI_DB=/var/lib/{service['StateDirectory']}/" in text
    assert int(service["TimeoutStopSec"]) > settings.GRACE.read({})
    assert service["ExecStart"].endswith("/tacticapi serve")


def place_of(holding: str) -> tuple[str, dict[str, str]]:
    """The path of the only location of a configuration of nginx, and its settings."""
    ((path, block),) = re.findall(r"location (\S+) \{(.*?)\}", sample("serving.md", "nginx", holding), re.DOTALL)
    return path, settings_in(block)


def settings_in(text: str) -> dict[str, str]:
    return dict(re.findall(r"^\s*([\w-]+(?: [\w-]+)*) (\S+);", text, re.MULTILINE))


def test_under_a_path_the_proxy_takes_the_path_away_and_names_it():
    (_, top), (path, here) = place_of("listen 443"), place_of("location /tactics/")
    assert here.pop("proxy_pass") == f"{top.pop('proxy_pass')}/"
    assert here.pop("proxy_set_header X-Forwarded-Prefix") == path.rstrip("/")
    assert top.pop("proxy_set_header X-Forwarded-Prefix") == '""'
    assert here == top


def test_the_proxy_takes_requests_whole_before_it_passes_them_on():
    at = settings_in(sample("serving.md", "nginx", "listen 443"))
    assert at["proxy_request_buffering"] == at["proxy_buffering"] == "on"
    assert at["proxy_set_header X-Forwarded-For"] == "$remote_addr"  # one proxy: TACTICAPI_PROXIES=1
    assert at["proxy_set_header X-Forwarded-Proto"] == "$scheme"
    assert at["proxy_set_header Host"] == "$http_host"
    assert at["client_max_body_size"] == f"{MAX_BODY // 1024 // 1024}m"
    assert int(at["client_header_timeout"].removesuffix("s")) > 0
    assert at["listen 443"] == "ssl"
