"""What is worked out from a rule book, kept so that a start need not parse YAML or index phrases again.

The key is the content: names and bytes of all rule files and of this package's code. A cache that is stale, torn or
foreign is rebuilt silently; one that cannot be written is done without.
"""

from __future__ import annotations

import gc
import hashlib
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TypeVar

import msgspec

from diagnose import __version__
from diagnose.bounded import RULE_FILE, TooLong, bytes_of, paths_below
from diagnose.rule_book.book import RuleBook

T = TypeVar("T")

_HEAD = b"rule book 1\n"


def cache_folder() -> Path:
    """Return where compiled rule books are kept; the environment may say otherwise."""
    chosen = os.environ.get("DIAGNOSE_CACHE")
    if chosen:
        return Path(chosen)
    from platformdirs import user_cache_path

    return user_cache_path("diagnose", appauthor=False)


def fingerprint(folder: Path, *code: Path) -> str:
    """Return the hash of every file of the rule book, of the code that reads it, and of further ``code``."""
    digest = hashlib.blake2b(__version__.encode(), digest_size=16)
    package = Path(__file__).parent
    own = [*sorted(package.glob("*.py")), *sorted(package.parent.glob("unit*.py")), *code]
    below = len(str(folder)) + 1
    rules = [(path[below:], Path(path)) for path in paths_below(folder, "*.y*ml")]
    for name, path in [*rules, *((path.name, path) for path in own)]:
        digest.update(name.encode() + b"\0")
        digest.update(bytes_of(path, RULE_FILE) + b"\0")
    return digest.hexdigest()


def kept(folder: Path, kind: str, wanted: type[T], build: Callable[[], T], *code: Path) -> T:
    """Return what was worked out before for the rule book in ``folder``, else what ``build`` returns, and keep that.

    ``kind`` is the ending of its file in the cache. A file that is stale, torn or foreign is replaced silently; where
    none can be written it is done without.
    """
    path: Path | None
    try:
        path = cache_folder() / f"{fingerprint(folder, *code)}.{kind}"
    except (OSError, TooLong):
        path = None
    found = _read(path, wanted) if path else None
    if found is not None:
        return found
    built = build()
    if path:
        _write(path, built)
    return built


def kept_before(name: str, wanted: type[T]) -> T | None:
    """Return what was kept in the cache under a name of its own, whatever rule book it was for; None if nothing was."""
    return _read(cache_folder() / name, wanted)


def keep(name: str, built: object) -> None:
    """Keep something in the cache under a name of its own; where nothing can be written, it is done without."""
    _write(cache_folder() / name, built)


def load_rule_book(folder: Path) -> RuleBook:
    """Return the rule book in ``folder``, compiled before when its content is the same.

    Raises ProblemsFound with all problems when the rule book has any, BadInput when there is no such folder.
    """
    return kept(folder, "rules", RuleBook, lambda: _load(folder))


def _load(folder: Path) -> RuleBook:
    from diagnose.rule_book.load import load_folder  # loads YAML and units, which a cached start does without

    return load_folder(folder)


def _read(path: Path, wanted: type[T]) -> T | None:
    try:
        if not _is_ours(path):
            return None
        data = path.read_bytes()
    except OSError:
        return None
    head, check, body = data[: len(_HEAD)], data[len(_HEAD) : len(_HEAD) + 16], data[len(_HEAD) + 16 :]
    if head != _HEAD or hashlib.blake2b(body, digest_size=16).digest() != check:
        return None
    try:
        with _nothing_collected():
            return msgspec.msgpack.decode(body, type=wanted)
    except (msgspec.DecodeError, RecursionError):
        return None


@contextmanager
def _nothing_collected() -> Iterator[None]:
    """Let nobody look for garbage: of the many objects read there is none, and looking takes longer than reading."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def _is_ours(path: Path) -> bool:
    """Tell whether a file belongs to this user (or to the system): what others have put there is not read."""
    return not hasattr(os, "getuid") or path.stat().st_uid in (os.getuid(), 0)


def _write(path: Path, built: object) -> None:
    import tempfile  # takes longer to load than reading the cache

    body = msgspec.msgpack.encode(built)
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, suffix=".tmp")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(_HEAD + hashlib.blake2b(body, digest_size=16).digest() + body)
            os.replace(temporary, path)
        except BaseException:
            os.unlink(temporary)  # or every start on a full disk would leave one more
            raise
        _drop_others(path)


def _drop_others(path: Path, keep: int = 8) -> None:
    """Keep the newest few of a kind; older ones are of no use to anybody."""
    others = sorted(path.parent.glob(f"*{path.suffix}"), key=lambda each: each.stat().st_mtime, reverse=True)
    for old in others[keep:]:
        with suppress(OSError):
            old.unlink()
