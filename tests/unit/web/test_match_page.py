"""The pages as they are served: what they ask, what they may load, and nothing of a club."""

import json
import re
from pathlib import Path
from urllib.parse import urljoin

import pytest

from tacticapi.api.rulebook import KindSchema
from tacticapi.domain.situation import Way
from tacticapi.web import GUIDES, MANIFEST, MODULES, STATIC, WORKER, notes_for_coach, page_data, spoken, to_coach

LONGEST_MODULE = 200  # lines
_DATA = re.compile(r'(?<=id="page-data">).*?(?=</script>)')

PAGES = ("/", "/match", "/guide", *(f"/guide/{name}" for name in GUIDES))


@pytest.mark.parametrize("address", PAGES)
def test_a_page_runs_no_script_and_takes_no_style_but_its_own_files(client, address):
    page = client.get(address)
    policy = page.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    assert "unsafe" not in policy
    drawn = _DATA.sub("", page.text)
    assert not re.search(r"<style|style=|\son\w+=|https?://(?!127.0.0.1)", drawn.partition("<body")[0])
    assert not re.search(r"<style|style=|\son\w+=|<script|(?:href|src)=.https?:", drawn.partition("<body")[2])
    for linked in set(re.findall(r'(?:href|src)="(/[^"#]*)', page.text)):
        with client.get(linked) as answer:
            assert answer.status_code == 200, linked


def test_the_worker_may_serve_every_page_and_fetch_nothing_of_another_site(client):
    policy = client.get("/match").headers["Content-Security-Policy"]
    with client.get(f"/{WORKER}") as worker:  # at the root, so that its scope is the whole service
        assert worker.mimetype == "text/javascript"
        assert worker.headers["Content-Security-Policy"] == policy
        kept = re.search(r"const PAGES = (\[.*\]);", worker.text)
        assert kept
        assert sorted(json.loads(kept[1])) == sorted(PAGES)


def test_the_manifest_names_icons_of_the_sizes_that_they_have(client):
    with client.get(f"/{MANIFEST}") as answer:
        assert answer.mimetype == "application/manifest+json"
        manifest = json.loads(answer.text)
    for icon in manifest["icons"]:
        with client.get(urljoin(f"/{MANIFEST}", icon["src"])) as file:
            assert file.mimetype == icon["type"]
            if icon["type"] == "image/png":  # width and height stand at bytes 16 to 24
                width, height = (int.from_bytes(file.data[at : at + 4]) for at in (16, 20))
                assert icon["sizes"] == f"{width}x{height}"
    for address in [manifest["start_url"], *(one["url"] for one in manifest["shortcuts"])]:
        assert client.get(urljoin(f"/{MANIFEST}", address).partition("#")[0]).status_code == 200


@pytest.mark.parametrize("name", ["none.js", "../match_page.py", "%2e%2e/match_page.py", "views"])
def test_nothing_else_is_served_beside_them(client, name):
    assert client.get(f"/static/{name}").status_code == 404
    assert client.get(f"/guide/{name}").status_code == 404


def test_it_names_every_module_and_says_that_it_is_not_for_betting(client):
    page = client.get("/match").text
    assert {f"/static/{module}" for module in MODULES} < set(re.findall(r'(?:href|src)="(/[^"]+)"', page))
    assert "Not for betting." in page


def test_it_asks_every_question_of_the_vocabulary_but_those_it_answers_itself_and_one_tap_for_one_count(
    adviser, rulebook
):
    kinds = page_data(adviser, KindSchema.written)["kinds"]
    asked = {kind["id"] for kind in kinds}
    assert {kind.subject for kind in rulebook.kinds.values() if kind.id not in asked} == {"plan", "record"}
    for kind in kinds:
        assert {Way.COUNT, Way.COUNTS} - set(kind["ways"]), kind["id"]
        assert kind["ways"], kind["id"]


def test_questions_are_told_to_people_and_not_to_programs(rulebook):
    for kind in rulebook.kinds.values():
        asks = spoken(kind)
        assert asks
        assert "`" not in asks
        assert not re.search(r"As a count:|\bPost\b", asks), asks


def test_a_coach_is_asked_about_the_player_and_the_opponent(rulebook):
    asked = {kind.id: to_coach(spoken(kind)) for kind in rulebook.kinds.values()}
    of_the_player = re.compile(r"(?<!gave )\b[Yy]ou\b(?! see)|\b[Yy]ours?\b(?! player)")
    assert [text for text in asked.values() if of_the_player.search(text)] == []
    notes = [note for kind in rulebook.kinds.values() for note in notes_for_coach(kind)]
    told = [note for note in notes if not note.startswith("How your player can find out: ")]
    assert [note for note in told if of_the_player.search(note)] == []
    assert "To see it: note how often your player must step back for their first stroke." in told
    assert "Careful: If your player swings, they were ready." in told
    assert asked["own.pain_now"] == "How much pain does your player feel now, from 0 (none) to 4 (severe)?"
    assert asked["own.first_serve_speed"] == "How fast is your player's first serve for their level?"
    assert asked["opponent.handedness"].startswith("Which hand does the opponent play with?")
    assert asked["movement.split_step"].startswith("Does the small hop come as your player hits")


def test_it_holds_the_safety_lines_of_each_danger_sign_for_a_phone_without_a_line(adviser):
    signs = page_data(adviser, KindSchema.written)["signs"]
    lines = {sign["value"]: [line["tactic"] for line in sign["lines"]] for sign in signs}
    assert lines[None] == ["safety-overrides-tactics"]
    assert lines["head knock"] == ["safety-overrides-tactics", "head-knock-off-court"]
    lasting = {sign["value"] for sign in signs if sign["for_the_match"]}
    assert lasting == {"chest pain", "head knock", "collapse", "seizure"}
    assert lines.keys() == {None, *adviser.rulebook.kinds["physical.warning_sign"].options}


def test_a_module_is_read_in_one_sitting_and_asks_the_public_api_alone():
    for module in MODULES:
        text = Path(STATIC, module).read_text(encoding="utf-8")
        assert len(text.splitlines()) < LONGEST_MODULE, module
        assert "innerHTML" not in text, module
        assert not re.search(r"https?://", text), module
        assert text.startswith("// "), f"{module} does not say what it is for"
