"""The pages, and what may be done on them. Nothing is decided here: a reply goes the way of what is typed."""

from __future__ import annotations

import hashlib
import logging
import secrets
from collections.abc import Awaitable, Callable, Iterable, Mapping
from contextlib import suppress
from functools import wraps
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from diagnose.documents.case_report_page import when
from diagnose.documents.html import to_html
from diagnose.errors import DiagnoseError, NoSuchCase
from diagnose.interview.rule_book_changed import GO_ON, told
from diagnose.interview.screens import left_behind, resumed
from diagnose.interview.session import Session
from diagnose.protocol.machine import prompt_in
from diagnose.serving.kept_cases import KeptCases, closed_as, goes_on, seen_by, take
from diagnose.serving.pages import VIEWS, fields_typed, page_of, view_of
from diagnose.serving.visitors import Visitor, Visitors

COOKIE = "interview"

LOG = logging.getLogger(__name__)
TOLD = "told"
"""Mark of a request whose mistake was logged and told, so that the server need not do it again."""

MOST_BYTES = 20_000_000
"""Of one reply, a photo included."""

NO_SUCH_CASE = "There is no case of that name here. Choose one from the list of all cases, or begin a new one."

MOST_PHOTOS, MOST_FIELDS = 5, 200

PAGE_RULES = (
    "default-src 'none'; script-src 'self'; connect-src 'self'; style-src 'self'; img-src 'self' data:; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
"""What a page may load: nothing from elsewhere, and no script or style that stands in the page itself."""

REPORT_RULES = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; frame-ancestors 'none'"
"""A report is one file with its style in it; it runs no script."""

HEADERS = {
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}

Handler = Callable[[Request, Visitor], Awaitable[Response]]


class Pages:
    """The pages of one server."""

    def __init__(self, cases: KeptCases, visitors: Visitors, names: Iterable[str] = ()) -> None:
        self.cases = cases
        self.visitors = visitors
        self.names = frozenset(names)
        self._templates = Environment(
            loader=PackageLoader("diagnose.serving"),
            autoescape=select_autoescape(["html"]),
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self._templates.filters["when"] = when

    def routes(self) -> list[Route]:
        """Return what can be asked for."""
        return [
            Route("/", self.enter),
            Route("/look/{file}", _look),
            Route("/cases", self._known(self.begin), methods=["POST"]),
            Route("/cases/{name}", self._known(self.show), methods=["GET"]),
            Route("/cases/{name}", self._known(self.reply), methods=["POST"]),
            Route("/cases/{name}/rule-book", self._known(self.accept), methods=["POST"]),
            Route("/cases/{name}/photo", self._known(self.photo), methods=["POST"]),
            Route("/cases/{name}/report", self._known(self.report)),
            Route("/cases/{name}/{view}", self._known(self.view)),
        ]

    def page(self, template: str, visitor: Visitor | None, code: int = 200, **fields: Any) -> HTMLResponse:
        """Return a page made of a template."""
        hidden = {"form_token": visitor.form_token if visitor else "", "once": secrets.token_urlsafe(12)}
        text = self._templates.get_template(template).render(**hidden, **fields)
        return HTMLResponse(text, code, {"Content-Security-Policy": PAGE_RULES})

    def trouble(self, visitor: Visitor | None, text: str, code: int, back: str = "/") -> HTMLResponse:
        """Return a page that says what went wrong."""
        return self.page("trouble.html", visitor, code, text=text, back=back)

    def _known(self, handler: Handler) -> Callable[[Request], Awaitable[Response]]:
        """Return a handler that serves only who has shown the token, and forms only from pages of their own."""

        @wraps(handler)
        async def guarded(request: Request) -> Response:
            visitor = self.visitors.known(request.cookies.get(COOKIE, ""))
            if visitor is None:
                return self.trouble(None, "Open the link that `diagnose serve` printed: this page needs it.", 403)
            try:
                return await handler(request, visitor)
            except NoSuchCase:
                return self.trouble(visitor, NO_SUCH_CASE, 404)
            except DiagnoseError as error:
                return self.trouble(visitor, self.cases.without_place(str(error)), 409)

        return guarded

    async def enter(self, request: Request) -> Response:
        """Show the cases; whoever comes with the token gets a session first."""
        token = request.query_params.get("token")
        known = self.visitors.known(request.cookies.get(COOKIE, ""))
        if token is not None:
            visitor = self.visitors.enter(token, known)
            if visitor is None:
                return self.trouble(None, "That link is not valid (any more). Take the one printed last.", 403)
            response = RedirectResponse("/", 303)
            response.set_cookie(COOKIE, visitor.id, httponly=True, samesite="lax")
            return response
        if known is None:
            return self.trouble(None, "Open the link that `diagnose serve` printed: this page needs it.", 403)
        try:
            listed = await run_in_threadpool(self.cases.listed)
        except DiagnoseError as error:
            return self.trouble(known, self.cases.without_place(str(error)), 409)
        name, left = known.parting
        known.parting = ("", [])
        return self.page(
            "cases.html",
            known,
            cases=listed,
            left_case=name,
            left=to_html(left),
            caution=self.cases.engine.rule_book.settings.on_a_phone,
        )

    async def begin(self, request: Request, visitor: Visitor) -> Response:
        """Begin a case."""
        form = await self._form(request, visitor)
        return await self._led(request, visitor, form, lambda: _case(self.cases.start(_text(form, "meter"))))

    async def _led(self, request: Request, visitor: Visitor, form: FormData, act: Callable[[], str]) -> Response:
        """Do what a form asks for, once however often it arrives, and lead to the next page."""
        return _to(request, await run_in_threadpool(visitor.once, _known_again(request, form), act))

    async def show(self, request: Request, visitor: Visitor) -> Response:
        """Show what is asked next in a case."""
        return await run_in_threadpool(self._shown, visitor, request.path_params["name"])

    def _shown(self, visitor: Visitor, name: str) -> Response:
        with self.cases.opened(name) as session:
            if session.journal.closed:
                return self._closed(visitor, session)
            changed = goes_on(session)
            if changed is None:
                asked = to_html(told(session.misfits))
                return self.page("rule_book.html", visitor, case=name, asked=asked)
            situation = seen_by(session, visitor.read.get(name, {}))
            prompt = prompt_in(situation)
            anew = name not in visitor.seen
            others = self.visitors.looks_at(visitor, name)
            entries = len(session.journal.entries)
            said_at, remarks = visitor.said.get(name, (0, []))
            said = [*changed, *(resumed(situation, prompt) if anew else []), *(remarks if said_at == entries else [])]
            fields = page_of(situation, prompt, said, visitor.ranked.get(name, {}))
            if fields["ranking"]:
                visitor.ranked[name] = {cause.id: cause.probability for cause in situation.diagnosis.causes}
            meter, before = self.cases.meter_of(session)
            fields |= {"meter": meter, "found_before": before, "anew": anew}
            return self.page("prompt.html", visitor, **fields, entries=entries, others=others, names=VIEWS)

    def _closed(self, visitor: Visitor, session: Session) -> Response:
        """Return how a case was closed: with what, and what is not put back."""
        name = session.case.name
        said_at, remarks = visitor.said.get(name, (0, []))
        return self.page(
            "closed.html",
            visitor,
            case=name,
            said=to_html(remarks if said_at == len(session.journal.entries) else []),
            left=to_html(left_behind(session.situation())),
            closed=closed_as(session),
        )

    async def reply(self, request: Request, visitor: Visitor) -> Response:
        """Take a reply; the next page comes by another request, so that a reload sends nothing again."""
        form = await self._form(request, visitor)
        entries = _text(form, "entries")
        typed = _text(form, "typed") or fields_typed({name: _texts(form, name) for name in form})
        if _text(form, "as") == "note" and typed:
            typed = f"note {typed}"
        number = int(entries) if entries.isdecimal() and len(entries) < 8 else -1
        name = request.path_params["name"]
        return await self._led(request, visitor, form, lambda: self._taken(visitor, name, number, typed))

    def _taken(self, visitor: Visitor, name: str, entries: int, typed: str) -> str:
        """Take a reply; return the address of the next page."""
        with self.cases.opened(name) as session:
            taken = take(session, entries, typed, visitor.read.setdefault(name, {}))
            visitor.said[name] = (len(session.journal.entries), taken.said)
        if taken.left:
            self.visitors.leaves(visitor, name)
            visitor.parting = (name, taken.said)
            return "/"
        return f"{_case(name)}/{taken.view.replace(' ', '-')}" if taken.view else _case(name)

    async def accept(self, request: Request, visitor: Visitor) -> Response:
        """Go on with a case that was begun with another rule book, or leave it."""
        form = await self._form(request, visitor)
        name = request.path_params["name"]
        if _text(form, "typed") != GO_ON:
            return _to(request, "/")

        def accepted() -> str:
            with self.cases.opened(name) as session:
                session.go_by_this_rule_book()
                session.come_back()
            return _case(name)

        return await self._led(request, visitor, form, accepted)

    async def photo(self, request: Request, visitor: Visitor) -> Response:
        """Keep a photo beside the case."""
        name = request.path_params["name"]
        form = await self._form(request, visitor, files=MOST_PHOTOS)
        try:
            for each in form.getlist("photo"):
                if isinstance(each, UploadFile) and each.filename:
                    await run_in_threadpool(self.cases.attach, name, each.filename, await each.read())
        finally:
            await form.close()
        return _to(request, _case(name))

    async def view(self, request: Request, visitor: Visitor) -> Response:
        """Show something beside a question."""
        name, view = request.path_params["name"], request.path_params["view"].replace("-", " ")
        if view not in VIEWS:
            raise HTTPException(404)
        return await run_in_threadpool(self._viewed, visitor, name, view)

    def _viewed(self, visitor: Visitor, name: str, view: str) -> Response:
        with self.cases.opened(name) as session:
            situation = seen_by(session, visitor.read.get(name, {}))
            shown = view_of(situation, prompt_in(situation), view)
            return self.page(
                "view.html", visitor, case=name, title=VIEWS[view], shown=shown, entries=len(session.journal.entries)
            )

    async def report(self, request: Request, visitor: Visitor) -> Response:
        """Show the report of a case, to print or to send on."""
        page = await run_in_threadpool(self.cases.report, request.path_params["name"])
        return HTMLResponse(page, headers={"Content-Security-Policy": REPORT_RULES})

    async def _form(self, request: Request, visitor: Visitor, files: int = 0) -> FormData:
        """Return what was filled in, with so many files at most.

        Raises HTTPException where the form is not from a page of this session.
        """
        form = await request.form(max_files=files, max_fields=MOST_FIELDS)
        origin = request.headers.get("origin")
        own = {request.headers.get("host", "").lower(), *self.names}
        if (origin is not None and urlsplit(origin).netloc not in own) or not visitor.is_own(_text(form, "form_token")):
            await form.close()
            raise HTTPException(403, "this form is not from a page of yours; go back, reload it, and send it again")
        return form


LOOKS = {"page.css": "text/css", "page.js": "text/javascript"}


async def _look(request: Request) -> Response:
    file = request.path_params["file"]
    if file not in LOOKS:
        raise HTTPException(404)
    return FileResponse(Path(__file__).parent / "look" / file, media_type=LOOKS[file])


def _to(request: Request, address: str) -> Response:
    """Lead to the next page: a browser by itself, the script of the page by naming it (it loads the page once)."""
    if request.headers.get("accept") == "application/json":
        return JSONResponse({"next": address})
    return RedirectResponse(address, 303)


def _case(name: str) -> str:
    return f"/cases/{quote(name, safe='')}"


def _known_again(request: Request, form: FormData) -> str:
    """Return what is alike where a form is sent again: its page, where it goes, and all that was filled in."""
    said = [(name, value) for name, value in form.multi_items() if isinstance(value, str)]
    return hashlib.sha256(repr((request.url.path, said)).encode()).hexdigest()


def _text(form: FormData, name: str) -> str:
    return next((each for each in _texts(form, name) if each), "")


def _texts(form: FormData, name: str) -> list[str]:
    return [each for each in form.getlist(name) if isinstance(each, str)]


class Guard:
    """What holds for every request: the host that it was meant for, how long it may be, and the headers of replies."""

    def __init__(self, app: ASGIApp, hosts: frozenset[str]) -> None:
        self.app = app
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse what is for another host or too long; otherwise pass it on."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        if self.hosts and request.headers.get("host", "").lower() not in self.hosts:
            await _headed(PlainTextResponse("this server goes by another name", 421))(scope, receive, send)
            return
        if _length(request) > MOST_BYTES:
            await _headed(PlainTextResponse("that is too long; send a smaller photo", 413))(scope, receive, send)
            return
        try:
            await self.app(scope, _counted(receive), _with_headers(send))
        except Exception:
            if not scope.get("state", {}).get(TOLD):
                raise


def _length(request: Request) -> int:
    with suppress(ValueError):
        return int(request.headers.get("content-length", "0"))
    return MOST_BYTES + 1


def _headed(response: Response) -> Response:
    response.headers.update(HEADERS)
    return response


def _counted(receive: Receive) -> Receive:
    """Return what receives no more than is allowed, whatever length was named."""
    got = 0

    async def counting() -> Message:
        nonlocal got
        message = await receive()
        got += len(message.get("body", b""))
        if got > MOST_BYTES:
            raise HTTPException(413, "that is too long; send a smaller photo")
        return message

    return counting


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = {name.lower() for name, _ in message["headers"]}
            message["headers"] += [
                (name.lower().encode(), value.encode())
                for name, value in HEADERS.items()
                if name.lower().encode() not in own
            ]
        await send(message)

    return sending


def make_app(cases: KeptCases, visitors: Visitors, hosts: frozenset[str], names: Iterable[str] = ()) -> ASGIApp:
    """Return the application; an empty set of ``hosts`` takes requests for any.

    ``names`` are those by which browsers call it where something stands before it, and passes on under another one.
    """
    pages = Pages(cases, visitors, names)

    async def refused(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        return pages.trouble(None, str(error.detail), error.status_code)

    async def failed(request: Request, error: Exception) -> Response:
        reference = secrets.token_hex(4)
        LOG.error("mistake %s at %s %s", reference, request.method, request.url.path, exc_info=error)
        request.scope.setdefault("state", {})[TOLD] = True
        kept = "What was answered before is kept; go on, or answer otherwise."
        text = f"This program made a mistake, not you. {kept} Tell whoever runs it: mistake {reference}."
        return pages.trouble(visitors.known(request.cookies.get(COOKIE, "")), text, 500)

    handlers: Mapping[Any, Any] = {HTTPException: refused, 500: failed}
    return Guard(Starlette(routes=pages.routes(), exception_handlers=handlers), hosts)
