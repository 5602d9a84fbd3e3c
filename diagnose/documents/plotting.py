"""Pictures in files: which kinds there are, and what is said where matplotlib is missing."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Any

from diagnose.errors import BadInput, WrongUse
from diagnose.whole_files import write_whole

KINDS = (".png", ".svg", ".pdf")


def new_figure(path: Path, inches: tuple[float, float]) -> Any:
    """Return an empty figure for a file.

    Raises WrongUse for another kind of file, BadInput without matplotlib.
    """
    if path.suffix.lower() not in KINDS:
        raise WrongUse(f"--plot {path}: pictures are {', '.join(KINDS)}; name the file accordingly")
    return empty_figure(inches)


def empty_figure(inches: tuple[float, float]) -> Any:
    """Return an empty figure.

    Raises BadInput without matplotlib.
    """
    try:
        from matplotlib.figure import Figure
    except ImportError as error:
        help = "pip install 'diagnose[plots]', or do without --plot: the terminal shows a picture too"
        raise BadInput(f"pictures in files need matplotlib, which is not installed; {help}") from error
    return Figure(figsize=inches, layout="constrained")


def save_figure(figure: Any, path: Path) -> None:
    """Write a figure into its file, the same bytes for the same picture.

    Raises BadInput when it cannot be written.
    """
    kind, drawn = path.suffix.lower().removeprefix("."), BytesIO()
    figure.savefig(drawn, format=kind, dpi=150, metadata={"Date": None} if kind == "svg" else None)
    try:  # only now: on a full disk some kinds of picture fail with errors that name no disk
        write_whole(path, [drawn.getvalue()], devices=True)
    except OSError as error:
        raise BadInput(f"the picture {path} cannot be written: {error.strerror or error}") from error
