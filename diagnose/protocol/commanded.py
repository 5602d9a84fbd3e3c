"""The replies that the words which are always there stand for; the other words only show something."""

from __future__ import annotations

from diagnose.protocol import replies
from diagnose.protocol.commands import Command
from diagnose.protocol.replies import Reply

_REPLIES: dict[str, Reply] = {
    "unknown": replies.Unknown(),
    "skip": replies.Skip(),
    "back": replies.Back(),
    "other checks": replies.OtherSteps(),
    "evidence": replies.UseNote(),
    "no such tool": replies.Decline(why="no tool"),
    "may not do that": replies.Decline(why="may not"),
}


def reply_of(command: Command) -> Reply | None:
    """Return the reply that a command stands for; None where it shows something, or leaves.

    >>> reply_of(Command("plant", "supply isolated"))
    PlantSaid(state='supply', value='isolated')
    >>> reply_of(Command("why")) is None
    True
    """
    if command.word == "note":
        return replies.NoteDown(text=command.rest)
    if command.word == "plant":
        state, _, value = command.rest.partition(" ")
        return replies.PlantSaid(state=state, value=value.strip())
    return _REPLIES.get(command.word)
