"""Devices on a bus: the address plan, and the total load of all devices on the line.

Chain: ``device-addresses`` → ``bus-devices``; with ``unit-load-of-device``, or ``device-loads`` alone →
``bus-unit-loads``, which the line's resistance takes (see `bus`).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.errors import OutOfRange

LOADS = {"1": 1.0, "1/2": 0.5, "1/4": 0.25, "1/8": 0.125}

FIRST, LAST, HIGHEST_BYTE = 1, 247, 255
"""Lowest and highest address of a device; higher values of a byte are reserved."""

UNSHARED, SHARED = "no other device has it", "another device has it"

LONGEST_LIST = 512

ADDRESSES = "Modbus over Serial Line V1.02, 2.2"

_WANTED = "write addresses like `1-5, 7, 0x0C`"
_NUMBER = r"0x[0-9a-f]{1,4}|\d{1,4}"
_RANGE = re.compile(rf"\b({_NUMBER})\s*(?:-|–|\.\.|\bto\b)\s*({_NUMBER})\b")
_LOAD = re.compile(
    r"(?:(?P<many>\d{1,4})\s*(?:x|×|\*|of)\s*)?(?P<share>\d{1,4}(?:[.,]\d{1,6})?)(?:\s*/\s*(?P<whole>\d{1,4}))?\s*(?:ul)?",
    re.IGNORECASE,
)


@calculation(
    gives="bus-devices", formula="count of the different addresses from 1 to 247", source=ADDRESSES, valid="as written"
)
def devices_in_plan(device_addresses: str) -> float:
    """Return the number of different addresses from 1 to 247 in a plan.

    Raises OutOfRange for a text that is not a list of addresses. Source: Modbus over Serial Line V1.02, 2.2.

    >>> devices_in_plan("1-5, 7; 0x0C")
    7.0
    """
    return float(sum(FIRST <= each <= LAST for each in set(read_addresses(device_addresses))))


@calculation(title="address plan", formula="1 to 247, each once", source=ADDRESSES)
def address_plan(device_addresses: str) -> Table:
    """Return the problems of an address plan, and a free address.

    Raises OutOfRange for a text that is no list of addresses. Source: Modbus over Serial Line V1.02, 2.2: 1 to 247 for
    devices, 0 to all at once without reply, 248 to 255 reserved; two devices with one address upset the whole bus.

    >>> address_plan("1, 2, 2, 248").remark
    'problems with 2 of 3 addresses; the lowest free address is 3, 245 are free'
    """
    count = Counter(read_addresses(device_addresses))
    rows = tuple(
        (str(address), float(times), problem)
        for address, times in sorted(count.items())
        if (problem := _problem(address, times))
    )
    free = [each for each in range(FIRST, LAST + 1) if each not in count]
    said = f"the lowest free address is {free[0]}, {len(free)} are free" if free else "no address is free"
    if rows:
        remark = f"problems with {len(rows)} of {len(count)} addresses; {said}"
    else:
        rows = (("all", float(len(count)), "none"),)
        remark = f"every address is valid and used once; {said}"
    return Table((Column("address"), Column("devices"), Column("problem")), rows, remark)


@calculation(gives="address-in-plan", formula="own address is none of the others", source=ADDRESSES)
def address_in_plan(bus_address: float, device_addresses: str) -> str:
    """Return whether an address is free of the other devices' addresses.

    Raises OutOfRange for a text that is no list of addresses, or an address that no device may have. Source: Modbus
    over Serial Line V1.02, 2.2.

    >>> address_in_plan(4.0, "1-3, 5"), address_in_plan(5.0, "1-3, 5")
    ('no other device has it', 'another device has it')
    """
    return SHARED if int(bus_address) in read_addresses(device_addresses) else UNSHARED


@calculation(gives="bus-unit-loads", formula="sum of number × unit load", source="TIA-485 (12 kohm for a unit load)")
def unit_loads_of_list(device_loads: str) -> float:
    """Return the unit loads of all devices on the line, as listed: ``10 x 1, 12 x 1/8``.

    Raises OutOfRange for a text that is no such list. Source: TIA-485.

    >>> unit_loads_of_list("10 x 1, 12 x 1/8")
    11.5
    """
    parts = [each.strip() for each in re.split(r"[;\n+]|,(?=\s)|,(?=\d+\s*[x×*])", device_loads) if each.strip()]
    if not parts:
        raise OutOfRange("no device is listed; write unit loads like `10 x 1, 12 x 1/8`")
    return sum(_load(each) for each in parts)


@calculation(
    gives="bus-unit-loads",
    formula="UL = N × unit load + unit load of the master",
    source="TIA-485 (12 kohm for a unit load; its fractions from memory)",
    valid="all devices alike",
)
def unit_loads_with_master(bus_devices: float, unit_load_of_device: str, unit_load_of_master: str) -> float:
    """Return the unit loads of so many devices alike and of the master, which loads the line like any other.

    Raises OutOfRange for a negative number. Source: TIA-485.

    >>> unit_loads_with_master(40.0, "1/8", "1/2")
    5.5
    """
    return bus_devices * LOADS[unit_load_of_device] + LOADS[unit_load_of_master]


@calculation(
    gives="bus-unit-loads",
    formula="UL = N × unit load + 1",
    source="TIA-485 (12 kohm for a unit load)",
    valid="all devices alike, the master one unit load",
)
def unit_loads_of_devices(bus_devices: float, unit_load_of_device: str) -> float:
    """Return the unit loads of so many devices alike and of a master of one unit load.

    Raises OutOfRange for a negative number. Source: TIA-485: one unit load is the most for a standard receiver; 31
    devices of one unit load and the master are 32.

    >>> unit_loads_of_devices(31.0, "1"), unit_loads_of_devices(40.0, "1/8")
    (32.0, 6.0)
    """
    return bus_devices * LOADS[unit_load_of_device] + LOADS["1"]


def read_addresses(text: str) -> Sequence[int]:
    """Return the addresses in a text: numbers (``0x`` for hexadecimal) and ranges, with any delimiter.

    Raises OutOfRange with what cannot be read.

    >>> read_addresses("1-3; 7 0x0A")
    (1, 2, 3, 7, 10)
    """
    found: list[int] = []
    rest = text.casefold()
    for part in _RANGE.finditer(rest):
        first, last = (_number(each) for each in part.groups())
        if last < first or last - first > LONGEST_LIST:
            raise OutOfRange(f"`{part[0]}` is not a range of addresses; write the lower end first, up to {LAST}")
        found += range(first, last + 1)
    for word in re.split(r"[\s,;]+", _RANGE.sub(" ", rest).strip(" ,;\n\t")):
        if re.fullmatch(_NUMBER, word):
            found.append(_number(word))
        elif word:
            raise OutOfRange(f"`{word}` is not an address; {_WANTED}")
    if not found:
        raise OutOfRange(f"no address is given; {_WANTED}")
    if len(found) > LONGEST_LIST:
        raise OutOfRange(f"{len(found)} addresses are too many; a bus has at most {LAST}")
    return tuple(found)


def _number(word: str) -> int:
    return int(word, 16) if word.startswith("0x") else int(word)


def _problem(address: int, times: int) -> str:
    if address == 0:
        return "0 is the broadcast address; no device may have it, and none replies to it"
    if address > HIGHEST_BYTE:
        return "not an address: use 1 to 247"
    if address > LAST:
        return "reserved: use 1 to 247"
    return f"{times} devices answer at once and disturb the whole bus" if times > 1 else ""


def _load(part: str) -> float:
    match = _LOAD.fullmatch(part)
    if match is None or (match["whole"] and int(match["whole"]) == 0):
        raise OutOfRange(f"`{part}` is not a unit load; write unit loads like `10 x 1, 12 x 1/8`")
    share = float(match["share"].replace(",", ".")) / int(match["whole"] or 1)
    return int(match["many"] or 1) * share
