"""Who gets in, and what a page lets through: nobody without the token, nothing from other sites, no markup."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from diagnose.cases.journal import Journal
from diagnose.serving.app import make_app
from diagnose.serving.kept_cases import KeptCases
from diagnose.serving.visitors import LOOKING, MOST_VISITORS, Visitors
from tests.protocol.lamps import lamp_engine
from tests.serving.phones import HOST, TOKEN, Phone, Server

OF_A_PAGE = ("/", "/cases/lamp", "/cases/lamp/why", "/cases/lamp/report")


@pytest.fixture
def server(tmp_path: Path) -> Server:
    """A server with a case."""
    made = Server(tmp_path)
    made.phone().begin("lamp")
    return made


@pytest.mark.parametrize("address", OF_A_PAGE)
def test_nobody_gets_in_without_the_token(server: Server, address: str) -> None:
    """Nor with one that is nearly right."""
    assert server.client().get(address).status_code == 403
    assert server.client().get("/", params={"token": TOKEN[:-1]}).status_code == 403
    client = server.client()
    client.cookies.set("interview", "made up")
    assert client.get(address).status_code == 403


def test_the_session_is_kept_where_scripts_do_not_see_it(server: Server) -> None:
    """And the token does not stay in the address."""
    answer = server.client().get("/", params={"token": TOKEN}, follow_redirects=False)
    assert answer.headers["location"] == "/"
    assert "httponly" in answer.headers["set-cookie"].lower()
    assert "samesite=lax" in answer.headers["set-cookie"].lower()


@pytest.mark.parametrize(
    ("form_token", "origin"), [("", None), ("made up", None), ("own", "http://elsewhere.example"), ("own", "null")]
)
def test_a_form_of_another_site_is_refused(server: Server, form_token: str, origin: str | None) -> None:
    """By its token, and by where it says it comes from."""
    phone = server.phone().open("lamp")
    token = phone.hidden("form_token") if form_token == "own" else form_token
    data = {"form_token": token, "entries": "0", "typed": "it flickers"}
    headers = {"origin": origin} if origin else {}
    answer = phone.client.post("/cases/lamp", data=data, headers=headers)
    assert answer.status_code == 403
    assert "flickers" not in phone.open("lamp").text


def test_the_forms_of_one_session_are_no_use_in_another(server: Server) -> None:
    """Each has a token of its own."""
    one, other = server.phone().open("lamp"), server.phone().open("lamp")
    data = {"form_token": one.hidden("form_token"), "entries": "0", "typed": "it flickers"}
    assert other.client.post("/cases/lamp", data=data).status_code == 403


def test_another_name_for_this_address_is_refused(server: Server) -> None:
    """A site that lets its own name lead here gets nothing."""
    client = server.phone().client
    assert client.get("/", headers={"host": "elsewhere.example"}).status_code == 421
    assert client.get("/", headers={"host": HOST}).status_code == 200


@pytest.mark.parametrize("length", ["30000000", "-x", "1e9"])
def test_what_is_too_long_is_refused_before_it_is_read(server: Server, length: str) -> None:
    """Whatever a request says of its length."""
    answer = server.phone().client.post("/cases/lamp", content=b"x", headers={"content-length": length})
    assert answer.status_code == 413


def test_what_is_longer_than_it_said_is_cut_off(server: Server) -> None:
    """A body in pieces names no length."""
    phone = server.phone().open("lamp")

    def pieces() -> object:
        for _ in range(30):
            yield b"x" * 1_000_000

    answer = phone.client.post(
        "/cases/lamp", content=pieces(), headers={"content-type": "application/x-www-form-urlencoded"}
    )
    assert answer.status_code == 413


@pytest.mark.parametrize("address", OF_A_PAGE)
def test_every_page_says_what_it_may_load_and_is_not_kept(server: Server, address: str) -> None:
    """Nothing from elsewhere; no script in the page itself."""
    answer = server.phone().client.get(address)
    assert answer.headers["content-security-policy"].startswith("default-src 'none'")
    assert answer.headers["cache-control"] == "no-store"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "no-referrer"
    own = "http://www.w3.org/"
    assert "http" not in answer.text.replace(own, "").replace("http-equiv", "")


@pytest.mark.parametrize(
    "words", ["<script>alert(1)</script> it flickers", 'a" onfocus="x" it flickers', "{{ 7 * 7 }} it flickers"]
)
def test_words_are_words(server: Server, words: str) -> None:
    """Whatever was said of a lamp stays text."""
    phone = server.phone().open("lamp").type(words)
    assert "lamp flickers" in phone.text
    assert phone.page.count("<script") == 1, "its own"
    assert 'onfocus="x"' not in phone.page
    assert "49" not in phone.text


@pytest.mark.parametrize("name", ["..", "../lamp", "%2e%2e%2flamp", "lamp.case", "nobody", "a%00b", "x" * 500])
def test_a_case_is_a_name_and_never_a_path(server: Server, name: str) -> None:
    """Outside the folder there is nothing."""
    answer = server.phone().client.get(f"/cases/{name}")
    assert answer.status_code == 404 or answer.url.path == "/"
    assert "Traceback" not in answer.text


@pytest.mark.parametrize("more", ["", "/why", "/report"])
def test_a_case_that_is_not_there_tells_nothing_of_the_server(server: Server, tmp_path: Path, more: str) -> None:
    """Neither where its cases are kept nor what others are called."""
    answer = server.phone().client.get(f"/cases/nosuch{more}")
    assert answer.status_code == 404
    assert "There is no case of that name here." in answer.text
    assert str(tmp_path) not in answer.text
    assert "lamp" not in answer.text


def test_no_page_says_where_cases_are_kept(server: Server, tmp_path: Path) -> None:
    """Not even where one is damaged, is open elsewhere, or has a second name: what is wrong is said all the same."""
    phone = server.phone()
    with Journal.resume(tmp_path, "lamp"):
        in_use = phone.client.get("/cases/lamp")
    (tmp_path / "twin.case").hardlink_to(tmp_path / "lamp.case")
    twin = phone.client.get("/cases/twin")
    (tmp_path / "odd.case").write_bytes(b"odd\n")
    odd = phone.client.get("/cases/odd/report")
    for answer, told in ((in_use, "is open in another"), (twin, "twin.case has another name"), (odd, "odd.case:1")):
        assert answer.status_code == 409
        assert told in answer.text
        assert str(tmp_path) not in answer.text


@pytest.mark.parametrize("entries", ["", "-1", "x", "9" * 400, "1.5"])
def test_a_form_without_its_place_in_the_case_is_not_taken(server: Server, entries: str) -> None:
    """It may be of another time."""
    phone = server.phone().open("lamp")
    answer = phone.send(typed="it flickers", entries=entries)
    assert "That was not taken" in answer.text


def test_sessions_end_with_the_oldest() -> None:
    """However many there are."""
    now = [0.0]
    visitors = Visitors("t", lambda: now[0])
    first = visitors.enter("t")
    assert first
    for _ in range(MOST_VISITORS):
        now[0] += 1
        visitors.enter("t")
    assert visitors.known(first.id) is None


def test_somebody_who_looked_long_ago_is_not_there() -> None:
    """Two minutes after the last page."""
    now = [0.0]
    visitors = Visitors("t", lambda: now[0])
    one, other = visitors.enter("t"), visitors.enter("t")
    assert one
    assert other
    assert not visitors.looks_at(one, "lamp")
    assert visitors.looks_at(other, "lamp")
    now[0] = LOOKING + 1
    assert not visitors.looks_at(one, "lamp")


class TestBehindSomethingThatEncrypts:
    """Browsers call it by another name than what passes their requests on."""

    NAME = "meters.example"

    def phone(self, folder: Path) -> Phone:
        """Return a browser that comes by that name."""
        app = make_app(KeptCases(lamp_engine(), folder), Visitors(TOKEN), frozenset({HOST, self.NAME}), (self.NAME,))
        client = TestClient(app, base_url=f"http://{HOST}", headers={"origin": f"https://{self.NAME}"})
        client.get("/", params={"token": TOKEN})
        return Phone(client)

    @pytest.mark.parametrize("host", [HOST, NAME, NAME.upper()])
    def test_its_forms_are_taken(self, host: str, tmp_path: Path) -> None:
        """Whether the name is passed on or not."""
        phone = self.phone(tmp_path)
        phone.client.headers["host"] = host
        assert "lamp flickers" in phone.begin("lamp").type("it flickers").text

    def test_those_of_others_are_not(self, tmp_path: Path) -> None:
        """Nor is any other name."""
        phone = self.phone(tmp_path).begin("lamp")
        phone.client.headers["origin"] = "https://elsewhere.example"
        assert phone.send(typed="it flickers").status_code == 403
        assert phone.client.get("/", headers={"host": "elsewhere.example"}).status_code == 421


class TestMistakesOfOurs:
    """What nobody foresaw."""

    def test_a_page_says_so_with_a_reference_and_the_log_has_the_rest(
        self, server: Server, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
    ) -> None:
        """Nothing of it stands on the page; the answers before are kept, and there is a way on."""
        phone = server.phone().open("lamp")

        def broken(*_: object) -> None:
            raise RuntimeError("the secret of the lamp")

        monkeypatch.setattr("diagnose.serving.app.take", broken)
        answer = phone.send(typed="it flickers")
        assert answer.status_code == 500
        assert "RuntimeError" not in answer.text
        assert "secret" not in answer.text
        (reference,) = re.findall(r"mistake ([0-9a-f]{8})", answer.text)
        assert 'href="/"' in answer.text
        (logged,) = (each for each in caplog.records if each.name == "diagnose.serving.app")
        assert reference in logged.getMessage()
        assert "the secret of the lamp" in str(logged.exc_info)
        monkeypatch.undo()
        assert "lamp flickers" in phone.send(typed="it flickers").text
