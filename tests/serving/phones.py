"""Invented phones: browsers without a screen that show the token, fill in forms, and press buttons."""

from __future__ import annotations

import html
import re
from pathlib import Path

from httpx2 import Response
from starlette.testclient import TestClient

from diagnose.reasoning.engine import Engine
from diagnose.serving.app import make_app
from diagnose.serving.kept_cases import KeptCases
from diagnose.serving.visitors import Visitors
from tests.protocol.lamps import lamp_engine

TOKEN = "token of the tests 0123456789"
HOST = "127.0.0.1:8470"


class Server:
    """A server in this process: of the desk lamp, unless another engine is given."""

    def __init__(self, folder: Path, engine: Engine | None = None) -> None:
        self.cases = KeptCases(engine or lamp_engine(), folder)
        self.visitors = Visitors(TOKEN)
        self.app = make_app(self.cases, self.visitors, frozenset({HOST}))

    def client(self) -> TestClient:
        """Return a browser that has not shown the token."""
        return TestClient(self.app, base_url=f"http://{HOST}")

    def phone(self) -> Phone:
        """Return a browser that has shown it."""
        client = self.client()
        assert client.get("/", params={"token": TOKEN}).status_code == 200
        return Phone(client)


class Phone:
    """A browser at a case: what is on its page, and what is pressed there."""

    def __init__(self, client: TestClient) -> None:
        self.client = client
        self.page = ""
        self.name = ""

    def begin(self, meter: str) -> Phone:
        """Begin a case about a meter."""
        self.page = self.client.get("/").text
        hidden = {name: self.hidden(name) for name in ("form_token", "once")}
        self._follow(self.client.post("/cases", data={"meter": meter, **hidden}))
        return self

    def open(self, name: str) -> Phone:
        """Open a case that is there."""
        self._follow(self.client.get(f"/cases/{name}"))
        return self

    def press(self, words: str) -> Phone:
        """Press the button with these words."""
        return self.type(self.buttons()[words])

    def type(self, text: str) -> Phone:
        """Send what would be typed."""
        self._follow(self.send(typed=text))
        return self

    def send(self, **fields: str) -> Response:
        """Send a form of the page that is shown."""
        hidden = {name: self.hidden(name) for name in ("form_token", "once", "entries")}
        return self.client.post(f"/cases/{self.name}", data={**hidden, **fields})

    def hidden(self, name: str) -> str:
        """Return a hidden field of the page."""
        found = re.search(rf'name="{name}" value="([^"]*)"', self.page)
        assert found, f"no {name} on the page"
        return html.unescape(found[1])

    def buttons(self) -> dict[str, str]:
        """Return what the buttons of the page say, with what each sends."""
        found = re.findall(r'<button name="typed" value="([^"]*)">([^<]*)</button>', self.page)
        return {html.unescape(words): html.unescape(value) for value, words in reversed(found)}

    @property
    def text(self) -> str:
        """The words of the page."""
        body = self.page.split("<body>", 1)[1]
        return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())

    def _follow(self, response: Response) -> None:
        self.page = response.text
        self.name = response.url.path.split("/")[2] if response.url.path.startswith("/cases/") else self.name
