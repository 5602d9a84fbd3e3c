"""An interview on the page is the interview: same prompts, same replies, same cases."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.cases.events import Case, Closed, CompetenceSaid, Left, MeterNamed, PlantChanged, StepChosen
from diagnose.cases.journal import Journal
from diagnose.cases.meter_sheets import keep, sheet_of
from diagnose.observations import CheckDone, FindingSeen
from diagnose.protocol.commanded import reply_of
from diagnose.protocol.commands import Command
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.replies import Analysed
from diagnose.protocol.responding import respond
from diagnose.protocol.typed import Unclear, reply_to
from diagnose.serving.pages import fields_typed
from tests.engines import real_engine
from tests.protocol.lamps import lamp_engine
from tests.protocol.walking import TEXTS
from tests.serving.phones import Server


@pytest.fixture
def server(tmp_path: Path) -> Server:
    """A server with a folder of its own."""
    return Server(tmp_path)


def test_a_lamp_is_found_and_cured_with_buttons(server: Server) -> None:
    """From the first question to the proof, by what the buttons say."""
    phone = server.phone().begin("lamp 7")
    phone.press("lamp is dark")
    assert "What may you do here?" in phone.text
    phone.type("3")
    for _ in range(12):
        if "Is anything still wrong?" in phone.text:
            break
        buttons = phone.buttons()
        first = next(words for words in buttons if buttons[words] in ("y", "1"))
        phone = phone.press(first) if "field-1" not in phone.page else phone.type("")
    assert "Is anything still wrong?" in phone.text, phone.text


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.sampled_from([*TEXTS, "1", "2", "3", "y", "u", "s", "b", "o", "n kept", "12"]), max_size=8))
def test_what_is_typed_there_brings_the_events_of_the_terminal(tmp_path: Path, typed: list[str]) -> None:
    """Whatever it is, and in whatever order."""
    server = Server(tmp_path)
    phone = server.phone().begin("walk")
    engine = lamp_engine()
    case = Journal.read(tmp_path, phone.name)
    for text in typed:
        prompt = prompt_of(engine, case)
        meant = reply_to(engine, case.data_sheet, prompt, text.replace("\x00", "").replace("\x1b[2J\u202e", ""))
        reply = reply_of(meant) if isinstance(meant, Command) else meant
        if not isinstance(meant, Unclear) and reply is not None:
            case = case.after(*respond(engine, case, prompt, reply).events)
        phone.type(text).open(phone.name)
    kept = Journal.read(tmp_path, phone.name)
    # How a case was left is kept beside what was answered.
    answered = [each.event for each in kept.entries if not isinstance(each.event, Left)]
    assert answered == [each.event for each in case.entries]


def test_a_form_that_arrives_twice_counts_once(server: Server, tmp_path: Path) -> None:
    """A connection that broke after the answer had arrived sends it again, and is answered as it was."""
    phone = server.phone().begin("lamp")
    first = phone.send(typed="it flickers")
    kept = Journal.read(tmp_path, "lamp")
    again = phone.send(typed="it flickers")
    assert Journal.read(tmp_path, "lamp") == kept
    assert again.url == first.url
    assert "lamp flickers" in again.text
    assert "not taken" not in again.text


def test_another_answer_from_the_same_page_is_no_form_that_arrives_twice(server: Server, tmp_path: Path) -> None:
    """Whoever went back in the browser is told that the case has moved on."""
    phone = server.phone().begin("lamp")
    phone.send(typed="it flickers")
    kept = Journal.read(tmp_path, "lamp")
    other = phone.send(typed="lamp is dark")
    assert Journal.read(tmp_path, "lamp") == kept
    assert "this case has moved on since your page was made" in other.text


def test_a_case_is_begun_once_however_often_the_form_arrives(server: Server, tmp_path: Path) -> None:
    """With several phones at the same moment each has its own."""
    phone = server.phone()
    phone.page = phone.client.get("/").text
    form = {"meter": "L-1", **{name: phone.hidden(name) for name in ("form_token", "once")}}
    where = {str(phone.client.post("/cases", data=form).url) for _ in range(3)}
    assert len(where) == 1
    server.phone().begin("L-1")
    assert sorted(each.name for each in tmp_path.glob("*.case")) == ["L-1-2.case", "L-1.case"]


def test_a_form_that_failed_is_done_when_it_comes_again(server: Server, tmp_path: Path) -> None:
    """Only what was done is remembered."""
    phone = server.phone().begin("lamp")
    with Journal.resume(tmp_path, "lamp"):
        assert phone.send(typed="it flickers").status_code == 409
    assert "lamp flickers" in phone.send(typed="it flickers").text


def test_a_meter_is_named_by_its_tag(server: Server, tmp_path: Path) -> None:
    """Its data sheet is known, and what was found on it before is told and counts."""
    keep(sheet_of(tmp_path, "L-1"), lambda _: "room: dry\n")
    with Journal.start(tmp_path, {}, "old") as journal:
        journal.add(1, MeterNamed(tag="L-1"), CheckDone(check="look-at-bulb", answer="black"))
        journal.add(2, Closed(outcome="found", cause="bulb-burnt"))
    phone = server.phone().begin("l-1")
    (entry,) = Journal.read(tmp_path, "l-1").entries
    assert entry.event == MeterNamed(tag="l-1", data_sheet={"room": "dry"})
    head, _, rest = phone.page.partition("</header>")
    assert "Found on l-1 before: Bulb burnt through" in head
    head, _, rest = phone.open("l-1").page.partition("</header>")
    assert "Found on" not in head
    assert "Found on l-1 before: Bulb burnt through" in rest
    with server.cases.opened("l-1") as session:
        assert session.engine.found_before == {"bulb-burnt": 1}


def test_a_file_of_the_server_is_not_read(server: Server, tmp_path: Path) -> None:
    """Whoever answers on a page does not sit where the program runs."""
    (tmp_path / "secret.csv").write_text("reference;meter\n1;2\n")
    engine = real_engine()
    case = Case().after(FindingSeen(finding="reads-low", present=True), CompetenceSaid(competence="skilled"))
    case = case.after(StepChosen(step="at-which-flow"))
    prompt = prompt_of(engine, case)
    read = [reply_to(engine, {}, prompt, str(tmp_path / "secret.csv"), files=files) for files in (True, False)]
    assert "secret" in str(read[0])
    assert isinstance(read[1], Unclear)
    assert "at the desk" in read[1].help
    assert isinstance(reply_to(engine, {}, prompt, "10 9.4; 50 47 m3/h", files=False), Analysed)


def test_where_there_are_buttons_nobody_is_told_to_type(server: Server) -> None:
    """Neither of letters nor of numbers."""
    phone = server.phone().begin("lamp")
    told = [phone.text]
    for typed in ("9", "n", "n the plug was warm", "lamp is dark", "zz", "3", "77", "ok"):
        told.append(phone.type(typed).text)
    said = " ".join(told).lower()
    assert not re.findall(r"\btype (?!another unit)\w+|choose a number|after the letter", said)
    assert "press one of the buttons" in said


def test_two_phones_at_one_case_are_told_and_the_later_answer_is_not_taken(server: Server, tmp_path: Path) -> None:
    """Whoever answers first is taken."""
    one, other = server.phone().begin("lamp"), server.phone().open("lamp")
    assert "Somebody else has this case open too" in other.text
    assert "Somebody else has this case open too" not in one.text
    one.type("it flickers")
    kept = Journal.read(tmp_path, "lamp")
    other.press("lamp is dark")
    assert "That was not taken" in other.text
    assert Journal.read(tmp_path, "lamp") == kept


def test_a_reload_shows_what_was_understood_and_sends_nothing_again(server: Server, tmp_path: Path) -> None:
    """What is shown comes by a request of its own."""
    phone = server.phone().begin("lamp").type("it flickers")
    kept, shown = Journal.read(tmp_path, "lamp"), phone.text
    assert "it flickers" in shown
    assert phone.open("lamp").text == shown
    assert Journal.read(tmp_path, "lamp") == kept


def test_the_case_is_on_disk_when_the_server_is_gone(server: Server, tmp_path: Path) -> None:
    """Another server goes on with it, and so does a terminal."""
    asked = server.phone().begin("lamp").type("it flickers").text
    anew = Server(tmp_path).phone().open("lamp").text
    assert asked.endswith(anew.split("All cases Report", 1)[1][-200:])
    with Journal.resume(tmp_path, "lamp") as journal:
        assert journal.entries


def test_a_case_that_is_open_at_a_terminal_is_left_alone(server: Server, tmp_path: Path) -> None:
    """It says so, and takes nothing."""
    phone = server.phone().begin("lamp")
    with Journal.resume(tmp_path, "lamp"):
        answer = phone.send(typed="it flickers")
    assert answer.status_code == 409
    assert "is open in another interview" in answer.text


def test_leaving_goes_to_the_list_which_names_the_case(server: Server) -> None:
    """With its complaint and how it stands."""
    phone = server.phone().begin("lamp 9").type("it flickers").type("save and leave")
    assert "lamp-9" in phone.text
    assert "it flickers" in phone.text


def test_a_note_is_kept_and_not_read(server: Server, tmp_path: Path) -> None:
    """By the button beside."""
    phone = server.phone().begin("lamp")
    phone.send(**{"typed": "it flickers", "as": "note"})
    kinds = [type(each.event).__name__ for each in Journal.read(tmp_path, "lamp").entries]
    assert kinds == ["MeterNamed", "Note"]


def test_what_is_shown_beside_a_question(server: Server) -> None:
    """Reasons and causes; then back to the question."""
    phone = server.phone().begin("lamp").press("lamp is dark").type("3")
    assert "Why this ranking" in phone.client.get(f"/cases/{phone.name}/why").text
    assert "All causes" in phone.client.get(f"/cases/{phone.name}/full-ranking").text
    assert phone.client.get(f"/cases/{phone.name}/nonsense").status_code == 404


def test_a_photo_is_kept_beside_the_case_and_named_in_the_report(server: Server) -> None:
    """By its hash, whatever it is called."""
    phone = server.phone().begin("lamp")
    data = {"form_token": phone.hidden("form_token")}
    files = {"photo": ("../../<b>lamp</b>.jpg", b"\xff\xd8\xff\xe0 invented", "image/jpeg")}
    assert phone.client.post("/cases/lamp/photo", data=data, files=files).status_code == 200
    report = phone.client.get("/cases/lamp/report")
    assert "SHA-256" in report.text
    assert "<b>lamp" not in report.text
    assert "script-src" not in report.headers["content-security-policy"]


def test_fields_of_a_form_are_typed_in_order() -> None:
    """As one line at a terminal; what would part them is taken out."""
    assert fields_typed({"field-10": ["5 m"], "field-2": ["a", "b"], "field-x": ["c"], "other": ["d"]}) == (
        "2 a, b; 10 5 m"
    )
    assert fields_typed({"field-1": ["yes; 2 no"]}) == "1 yes, 2 no"


def test_a_closed_case_takes_no_answer(server: Server, tmp_path: Path) -> None:
    """Not even from a page that was made before it was closed; it says what to do."""
    phone = server.phone().begin("lamp")
    with Journal.resume(tmp_path, "lamp") as journal:
        journal.add(journal.new_turn(), Closed(outcome="not found"))
    kept = Journal.read(tmp_path, "lamp")
    assert "this case is closed" in phone.type("it flickers").text
    assert Journal.read(tmp_path, "lamp") == kept


def test_whoever_leaves_is_told_what_is_not_put_back(server: Server, tmp_path: Path) -> None:
    """On the page that comes next, once."""
    phone = server.phone().begin("lamp").type("lamp is dark").type("3")
    with Journal.resume(tmp_path, "lamp") as journal:
        journal.add(journal.new_turn(), PlantChanged(state="plug", value="out"))
    left = phone.open("lamp").type("save and leave").text
    assert "Put it back, or tell whoever comes next." in left
    assert "Put it back" not in phone.client.get("/").text


@pytest.mark.parametrize("name", ["..", "", "x" * 400 + "\u20ac" * 100, "C:\\photos\\a.jpg"])
def test_a_photo_may_be_called_anything(server: Server, name: str) -> None:
    """It is kept by its hash."""
    phone = server.phone().begin("lamp")
    data = {"form_token": phone.hidden("form_token")}
    answer = phone.client.post("/cases/lamp/photo", data=data, files={"photo": (name or "a", b"x", "image/png")})
    assert answer.status_code == 200
    assert "SHA-256" in phone.client.get("/cases/lamp/report").text


def test_a_danger_told_on_a_page_that_came_too_late_is_heard(tmp_path: Path) -> None:
    """It does not hang on what was asked: whoever tells of it must not be told to look at something else."""
    phone = Server(tmp_path, real_engine()).phone().begin("FT-1")
    phone.send(typed="display is dark")
    late = phone.send(typed="there is smoke coming from the box")
    assert "not taken" not in late.text
    assert "smoke, sparks or something burning" in late.text


def test_words_that_came_too_late_are_shown_again(server: Server) -> None:
    """Nobody has to think of them once more."""
    phone = server.phone().begin("lamp")
    phone.send(typed="it flickers")
    assert "You wrote: “lamp is dark”" in phone.send(typed="lamp is dark").text
