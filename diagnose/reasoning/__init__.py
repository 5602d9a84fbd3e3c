"""How to reason: forward chaining, exact posterior, planning, reasons. Nothing here knows about meters."""
