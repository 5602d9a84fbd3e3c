"""How people say what they want, plan or order: none of it is so yet."""

from __future__ import annotations

from diagnose.language.english.lists import pairs, words

WISHES = words("""
    want wants wanted wish wishes plan plans planned planning intend intends intended propose proposes proposed suggest
    suggests suggested recommend recommends recommended order ordered consider considers considering
    offered quoted
""")
"""What comes after one of these in its clause is not there yet (``we plan a new one``)."""

WISH_PAIRS = pairs("""
    ask for, asks for, asked for, asking for, thinking of, due to, going to, need a, need an, needs a, needs an
""")

BRINGING_ABOUT = (["make"], ["get"], ["have"])
BROUGHT_ABOUT = (["it"], ["them"], ["both"])
"""After *to*: what somebody did it for (``changed the factor to make it agree with the clamp-on``)."""

TELLING = words("know find report say tell mention add ask inform understand see")
"""After ``wants to``: what follows is told, not wanted."""

ORDERS = words("""
    fill stop check replace send call fit install try drain flush rinse remove advise please clean
""")
"""A sentence that begins with one of these and what it is done to is an order, or a trial told in few words."""

YET_TO_COME = words("we i you they")
"""After ``before``, with a verb that is not in the past: it is still to come (``before we drain the line``)."""
