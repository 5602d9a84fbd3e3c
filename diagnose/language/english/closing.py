"""How people say that a matter is over, or that it is not; phrases are found word for word."""

from __future__ import annotations

import re

from diagnose.language.english.lists import phrases

SOLVED = phrases("""
    please close, pls close, can close, may close, can be closed, may be closed, to be closed, ok to close, okay
    to close, close the ticket, close this ticket, close ticket, close my ticket, close the case, close this
    one, close the call, close the issue, close it please, ticket closed, case closed, is solved, was solved,
    has been solved, got solved, problem solved, all solved, solved itself, solved now, is resolved, was
    resolved, has been resolved, problem resolved, resolved itself, is fixed, was fixed, has been fixed, got it
    fixed, all fixed, fixed now, fixed it, solved it, is sorted, all sorted, sorted now, sorted itself, sorted
    it, that did it, that was it, that did the trick, that fixed it, that solved it, that helped, it worked
    thanks, no further action, no action needed, nothing more to do, nothing further, nothing open, no need to
    come, no need to send, no longer needed, not needed any more, not needed anymore, false alarm, never mind,
    nevermind, forget my, ignore my, disregard my, cancel my, cancel the, withdraw my, sorry for the noise, sry
    for the noise, sorry for the bother, all good now, all good again, all fine now, all fine again, all ok now,
    all ok again, all well now, all well again, everything fine now, everything works now, everything works
    again, everything ok now, everything is ok now, everything is fine now, everything alright, everything is
    back, back to normal, is normal again, normal again, works again, working again, works fine now, works now,
    running again, runs again, back in service, back in operation, up and running, fine again, ok again, okay
    again, right again, good again, correct again, has gone since, is gone since, have gone since, gone for
    good, just for the record, for your records only, we found it, found it, found the cause, found the reason,
    found the culprit, mystery solved
""")
"""Said of the matter as a whole. One alone is enough where nothing is told that is wrong."""

SOLVED_FIRST = phrases("solved, resolved, fixed, closed, sorted, done, ok found, found")
"""Likewise, as the first words of a sentence."""

NOT_SOLVED = phrases("""
    still, not solved, not fixed, not resolved, not yet, came back, comes back, back again, returned, until,
    again today, again this, any idea, any ideas, any hint, please help, please advise, pls advise, what should,
    what shall, what can, what do, what would, what else, how do, how can, can you come, can you send, can
    someone, who can, for a while, for a day, for a week, for an hour, for some time, every
    time, each time, temporarily, for now, happens again, but now, but after, then again, reopen, re-open, when
    i, when we, if i, if we
""")
"""In the same sentence or in a later one: it is not over, was so only under a condition, or somebody asks further."""

NOTHING_WRONG = phrases("""
    question only, only a question, just a question, no fault, nothing wrong, nothing is wrong, no remarks,
    works well, all work, is working well, reading well, reads well, all ok, no complaints, no problem so far,
    for our files, for our records, for the files, do you offer, could you send me, can you send me, we plan, is
    planned, planning to, we want to move, do you advise, is it due, is due for, annual check, maintenance list,
    spare parts list, for a quote, a quote for, meter ok, meter is ok, meter is okay, meter fine, meter is fine,
    meter is well, meter is working, meter works ok, meter works fine, shift handover, handover note,
    for information only, fyi only
""")
"""With nothing told that is wrong: somebody asks or reports, and complains of nothing."""

_TICKET = r"(?:ticket|case|call|report|issue|incident|request|this(?: one)?|it|(?:[a-z]{1,5}-?)?#?\d{2,})"

CLOSED = re.compile(
    rf"\bclose (?:the |this |my |our )?{_TICKET}(?:\s*(?:[.,;!]|$|and\b|please\b|thanks\b|now\b|from\b))"
    rf"|\b(?:please|pls|plz) close\s*(?:[.,;!]|$|and\b)"
    r"|\b(?:ticket|case|call|report|issue|incident|request)\b[^.;]{0,12}\b(?:can|may|could) be (?:closed|cancelled)\b"
    r"|^\W*(?:this )?(?:can|may|could) be closed\b|\b(?:ok|okay|fine) to close\s*(?:[.,;!]|$)"
    r"|\bno (?:further|more) action\b|\bnothing (?:is )?(?:left )?open from (?:my|our) side\b"
    r"|\bno need to come\b"
)
"""Somewhere in a sentence: the report is dealt with. *Please close the valve* is another matter."""

ALL_SAID = re.compile(
    r"(?:all |now |problem |issue |case |it(?: i|')s |that(?: i|')s )?(?:re)?solved(?: now)?[.!]*|that did it[.!]*"
    r"|(?:re)?solved,[^,]*[.!]*"
)
"""A whole sentence that says so."""

REOPENED = re.compile(
    r"\b(?:re-?open\w*|not (?:yet )?(?:re)?solved|not close|(?:was|were|been) closed|closed too|back again)\b"
    r"|\b(?:came|is) back\b"
)
"""It is there again, whatever was closed before."""
