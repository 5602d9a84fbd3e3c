"""``diagnose serve``: the interview as a page for a phone."""

from __future__ import annotations

import ipaddress
import re
import secrets

import click

from diagnose.commands.main import load
from diagnose.errors import WrongUse
from diagnose.place import visible

SHORTEST_TOKEN = 16


@click.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen at.")
@click.option("--port", default=8470, show_default=True, type=click.IntRange(0, 65535), help="Port to listen at.")
@click.option("--token", default="", help="Token of the link; made anew each time if left out.")
@click.option(
    "--name",
    "names",
    multiple=True,
    metavar="NAME",
    help="Name (and port, if any) by which browsers call it behind something that encrypts; may be given again.",
)
@click.pass_context
def serve(ctx: click.Context, host: str, port: int, token: str, names: tuple[str, ...]) -> None:
    """Serve the interview as a page for a phone: large buttons, cautions before steps, readings by a keypad.

    \b
    diagnose serve
    diagnose serve --host 192.0.2.10 --port 8470
    diagnose serve --name meters.example

    It prints a link with a token; whoever has the link may answer. Cases are those of `diagnose interview` and
    `diagnose cases`: each answer is on disk before the next question, so a lost connection loses nothing, and a case
    that was begun at the desk can be resumed on a phone.

    What goes over the network is not encrypted: use another address than this machine's own only in a network that
    you trust, or behind something that encrypts and passes requests on; --name tells the name that it goes by then.
    Ctrl-C ends it; the links end with it.
    """
    try:
        import python_multipart  # noqa: F401 - forms are read by it, but not before the first one comes
        import starlette  # noqa: F401
        import uvicorn
    except ImportError as error:
        raise WrongUse(f"this needs a server (pip install 'diagnose[serve]'): {error.name} is missing") from error
    from diagnose.cases.journal import case_folder
    from diagnose.serving.app import make_app
    from diagnose.serving.kept_cases import KeptCases
    from diagnose.serving.listening import hosts_of, listen
    from diagnose.serving.visitors import Visitors

    if token and (len(token) < SHORTEST_TOKEN or not token.isalnum() or not token.isascii()):
        raise WrongUse(f"--token: at least {SHORTEST_TOKEN} letters and digits, or leave it out and one is made")
    names = tuple(map(_name, names))
    token = token or secrets.token_urlsafe(24)
    engine = load(ctx)
    with listen(host, port) as listening:
        at = listening.getsockname()[1]
        hosts = hosts_of(host, at)
        app = make_app(KeptCases(engine, case_folder()), Visitors(token), hosts | set(names) if hosts else hosts, names)
        shown = f"[{host}]" if ":" in host else host
        click.echo(f"Open  http://{shown}:{at}/?token={token}")
        for each in names:
            click.echo(f"or    https://{each}/?token={token}")
        if not _is_own(host):
            click.echo("Not encrypted: only in a network that you trust.", err=True)
        config = uvicorn.Config(app, log_level="warning", access_log=False, server_header=False)
        uvicorn.Server(config).run(sockets=[listening])


def _name(text: str) -> str:
    """Return a name as browsers send it.

    Raises WrongUse for an address with more in it than a name and a port.
    """
    if not re.fullmatch(r"[A-Za-z0-9]([A-Za-z0-9.-]{0,250}[A-Za-z0-9])?(:[0-9]{1,5})?", text):
        raise WrongUse(f"--name {visible(text)}: name it as it stands in a link, without https:// and without /")
    return text.lower()


def _is_own(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
