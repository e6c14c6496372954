"""Every setting stands in one list, which the docs repeat, and nothing else is read from the environment."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from tacticapi.cli import main
from tacticapi.settings import MASK, RATE_PER_TOKEN, SETTINGS, SettingError, complaints

ROOT = Path(__file__).parents[3]
NAMES = {setting.name for setting in SETTINGS}
OF_THE_TESTS = {"TACTICAPI_VENV", "TACTICAPI_TEST_WORKERS"}


def test_each_setting_says_its_value_and_where_that_comes_from():
    told = CliRunner().invoke(main, ["settings"], env={"TACTICAPI_PORT": "8080", "TACTICAPI_WORKERS": ""}).output
    assert set(re.findall(r"^(\w+) = ", told, re.MULTILINE)) == NAMES
    assert "TACTICAPI_PORT = 8080  (environment)\n    port to listen on\n" in told
    assert "TACTICAPI_WORKERS = 2  (default)\n" in told


@pytest.mark.parametrize("name", [setting.name for setting in SETTINGS if setting.secret])
def test_a_secret_is_never_shown(name):
    told_of = CliRunner().invoke(main, ["settings"], env={name: "redis://canary"})
    assert f"{name} = {MASK}  (environment)" in told_of.output
    assert "canary" not in told_of.output


def test_what_can_hold_a_password_or_a_token_is_secret():
    secrets = {setting.name for setting in SETTINGS if setting.secret}
    assert secrets == {"DATABASE_URL", "REDIS_URL", "TACTICAPI_FIRST_TOKEN", "TACTICAPI_METRICS_TOKEN"}


def test_a_variable_that_is_no_setting_is_told_with_the_one_that_is_meant():
    (complaint,) = complaints({"TACTICAPI_PROT": "1", "PATH": "/bin"})
    assert complaint == "TACTICAPI_PROT is not a setting; did you mean TACTICAPI_PORT?"
    told_of = CliRunner().invoke(main, ["settings"], env={"TACTICAPI_ZZZZZZZZZZZZ": "1"})
    assert (told_of.exit_code, "TACTICAPI_ZZZZZZZZZZZZ is not a setting" in told_of.output) == (1, True)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("TACTICAPI_PORT", "0"),
        ("TACTICAPI_WORKERS", "two"),
        ("TACTICAPI_TIMEOUT", "4"),
        ("TACTICAPI_RECYCLE", "-1"),
        ("TACTICAPI_LOG_LEVEL", "loud"),
        ("TACTICAPI_RATE_PER_TOKEN", "600"),
        ("TACTICAPI_RATE_PER_ADDRESS", "0/minute"),
        ("TACTICAPI_REQUIRE_TOKENS", "yes"),
        ("TACTICAPI_PROXIES", "many"),
        ("REDIS_URL", "http://canary"),
    ],
)
def test_a_value_that_cannot_be_is_told_without_being_shown(name, value):
    (complaint,) = complaints({name: value})
    assert complaint.startswith(f"{name}: expected ")
    setting = next(setting for setting in SETTINGS if setting.name == name)
    with pytest.raises(SettingError, match=f"^{name}: expected"):
        setting.read({name: value})
    assert "canary" not in complaint


@pytest.mark.parametrize(("text", "rate"), [("none", None), ("5/second", "5/second"), ("", "600/minute")])
def test_a_rate_may_have_no_limit(text, rate):
    assert RATE_PER_TOKEN.read({"TACTICAPI_RATE_PER_TOKEN": text}) == rate


def test_serve_refuses_a_value_that_cannot_be(tmp_path):
    wrong = {"TACTICAPI_RATE_PER_TOKEN": "600", "TACTICAPI_DB": f"{tmp_path}/x"}
    told_of = CliRunner().invoke(main, ["serve"], env=wrong)
    assert told_of.exit_code == 1
    assert "TACTICAPI_RATE_PER_TOKEN: expected a number per second, minute or hour" in told_of.output


def test_no_variable_is_used_that_the_list_does_not_hold():
    for folder in ("tacticapi", "docs"):
        for file in [*(ROOT / folder).rglob("*.py"), *(ROOT / folder).rglob("*.md")]:
            used = set(re.findall(r"(?<![A-Z_])TACTICAPI_[A-Z_]+\b", file.read_text(encoding="utf-8")))
            assert used - OF_THE_TESTS <= NAMES | {"TACTICAPI_"}, file


def test_the_page_on_running_it_lists_every_setting():
    page = (ROOT / "docs" / "running.md").read_text(encoding="utf-8")
    for setting in SETTINGS:
        absent = f"`{setting.default}`" if setting.default else "nothing"
        assert f"| `{setting.name}` | {absent} | {setting.meaning} |" in page
    assert set(re.findall(r"^\| `([A-Z_]+)` \|", page, re.MULTILINE)) == NAMES
