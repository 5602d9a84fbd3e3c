"""``diagnose`` called inside this process."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest

from diagnose.commands.main import main
from tests.commands.running import Call, Done, environment


@pytest.fixture
def call(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Call:
    """Return a way to call ``diagnose`` inside this process, in a folder of its own that holds its cases too."""
    monkeypatch.chdir(tmp_path)
    for name, value in (("CACHE", environment()["DIAGNOSE_CACHE"]), ("CASES", str(tmp_path))):
        monkeypatch.setenv(f"DIAGNOSE_{name}", value)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("DIAGNOSE_RULES", raising=False)

    def called(*arguments: str, stdin: str = "") -> Done:
        monkeypatch.setattr(sys, "argv", ["diagnose", *arguments])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin.encode())))
        with pytest.raises(SystemExit) as leaving:
            main()
        out, err = capsys.readouterr()
        return Done(int(leaving.value.code or 0), out, err)

    return called
