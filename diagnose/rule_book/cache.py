"""The compiled rule book, kept so that a start need not parse YAML again.

The key is the content: names and bytes of all rule files and of this package's code. A cache that is stale, torn or
foreign is rebuilt silently; one that cannot be written is done without.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from contextlib import suppress
from pathlib import Path

import msgspec

from diagnose import __version__
from diagnose.rule_book.types import RuleBook

_HEAD = b"rule book 1\n"


def cache_folder() -> Path:
    """Return where compiled rule books are kept; the environment may say otherwise."""
    chosen = os.environ.get("DIAGNOSE_CACHE")
    if chosen:
        return Path(chosen)
    from platformdirs import user_cache_path

    return user_cache_path("diagnose", appauthor=False)


def fingerprint(folder: Path) -> str:
    """Return the hash of every file of the rule book and of the code that reads it."""
    digest = hashlib.blake2b(__version__.encode(), digest_size=16)
    package = Path(__file__).parent
    code = [*sorted(package.glob("*.py")), package.parent / "units.py"]
    for path in [*sorted(folder.rglob("*.y*ml")), *code]:
        digest.update(str(path.relative_to(folder) if path.is_relative_to(folder) else path.name).encode())
        digest.update(b"\0")
        digest.update(path.read_bytes())
        digest.update(b"\0")
    return digest.hexdigest()


def load_rule_book(folder: Path) -> RuleBook:
    """Return the rule book in ``folder``, compiled before when its content is the same.

    Raises ProblemsFound with all problems when the rule book has any, BadInput when there is no such folder.
    """
    path: Path | None
    try:
        path = cache_folder() / f"{fingerprint(folder)}.rules"
    except OSError:
        path = None
    cached = _read(path) if path else None
    if cached is not None:
        return cached
    from diagnose.rule_book.load import load_folder  # loads YAML and units, which a cached start does without

    rule_book = load_folder(folder)
    if path:
        _write(path, rule_book)
    return rule_book


def _read(path: Path) -> RuleBook | None:
    try:
        data = path.read_bytes()
    except OSError:
        return None
    head, check, body = data[: len(_HEAD)], data[len(_HEAD) : len(_HEAD) + 16], data[len(_HEAD) + 16 :]
    if head != _HEAD or hashlib.blake2b(body, digest_size=16).digest() != check:
        return None
    try:
        return msgspec.msgpack.decode(body, type=RuleBook)
    except (msgspec.DecodeError, RecursionError):
        return None


def _write(path: Path, rule_book: RuleBook) -> None:
    body = msgspec.msgpack.encode(rule_book)
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, suffix=".tmp")
        with os.fdopen(handle, "wb") as file:
            file.write(_HEAD + hashlib.blake2b(body, digest_size=16).digest() + body)
        os.replace(temporary, path)
        _drop_others(path)


def _drop_others(path: Path, keep: int = 8) -> None:
    """Keep the newest few compiled rule books; older ones are of no use to anybody."""
    others = sorted(path.parent.glob("*.rules"), key=lambda each: each.stat().st_mtime, reverse=True)
    for old in others[keep:]:
        with suppress(OSError):
            old.unlink()
