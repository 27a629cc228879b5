"""What is wrong in a cook file that leaves the day to be planned."""

from collections.abc import Callable

from tests.docs.remedies.tried import swapped, tried

from pitreckon.plan.read import wishes_from_text
from pitreckon.plan.wishes import Guests, Wishes

DAY = """\
[cook]
name = "harvest table"
zone = "America/Chicago"
serve = "2026-10-10 18:00"

[guests]
adults = 12

[hands]
cooks = 1

[[pit]]
name = "big box"
kind = "pellet-cooker"
set = ["225 F", "250 F"]

[[item]]
name = "butt"
cut = "boston-butt"
"""
NAME, SERVE, ADULTS, COOKS = 'name = "harvest table"', 'serve = "2026-10-10 18:00"', "adults = 12", "cooks = 1"
SET, CUT, GUESTS = 'set = ["225 F", "250 F"]', 'cut = "boston-butt"', "[guests]\nadults = 12\n"
PITS, ITEMS = DAY[DAY.index("[[pit]]") : DAY.index("[[item]]")], DAY[DAY.index("[[item]]") :]
STAGE = '\n[[item.stage]]\ndo = "open"\nuntil = "203 F"\n'


def whole(text: str) -> Wishes:
    return wishes_from_text(text, "day.toml")


def day(at: str, base: str = DAY) -> Callable[[str], Wishes]:
    """Reads the day with a piece in the place of another."""
    return lambda piece: whole(swapped(base, at, piece))


def after(line: str) -> Callable[[str], Wishes]:
    """Reads the day with more keys behind a line."""
    return lambda keys: whole(swapped(DAY, line, f"{line}\n{keys}"))


DAYS = [
    tried("the file is empty", "Write a [cook], a [[pit]] and an [[item]]", whole, "", DAY),
    tried(
        "there is no [cook]",
        "Write [cook] with its name, its zone and when to serve",
        whole,
        DAY[DAY.index("[guests]") :],
        DAY,
    ),
    tried("'guest' is no key of file", "Did you mean 'guests'", whole, DAY.replace("[guests]", "[guest]"), DAY),
    tried(
        "'guests' is no key of cook",
        "Write any of: name, zone, serve, altitude, air, humidity, chance, earliest, planned, hold_places, currency",
        day(NAME),
        NAME + "\nguests = 12",
        NAME,
    ),
    tried("serve is missing", 'Write it as in serve = "2026-10-10 18:00"', day(SERVE), "", SERVE),
    tried(
        "there is no pit", "Add a [[pit]] with its name, kind and set temperatures", whole, DAY.replace(PITS, ""), DAY
    ),
    tried("there are no items", "Add an [[item]] with its name and its cut", whole, DAY.replace(ITEMS, ""), DAY),
    tried(
        "'dollars' is no currency",
        'Write its three letters, as in currency = "USD"',
        after(NAME),
        'currency = "dollars"',
        'currency = "USD"',
    ),
    tried(
        "'0.8' is a share with no unit",
        "Write the unit too, as in 60 % or 1/3",
        after(NAME),
        'chance = "0.8"',
        'chance = "60 %"',
        'chance = "1/3"',
    ),
    tried(
        "chance is 100 %",
        "It lies between 5 % and 99 %",
        after(NAME),
        'chance = "100 %"',
        'chance = "5 %"',
        'chance = "99 %"',
    ),
    tried(
        "the serving time 2026-10-10 18:00 is not after 2026-10-10 19:00, when work can begin",
        "Write a later serving time or an earlier start",
        after(NAME),
        'earliest = "2026-10-10 19:00"',
        'earliest = "2026-10-10 04:00"',
    ),
    tried(
        "the serving time 2026-10-10 18:00 is not after 2026-10-11 19:00, when work can begin",
        "Write a later serving time or an earlier start",
        after(NAME),
        'planned = "2026-10-11 19:00"',
        'planned = "2026-10-09 20:00"',
    ),
    tried(
        "hold_places is 20000",
        "Write how many pieces it takes, 0 to 10000",
        after(NAME),
        "hold_places = 20000",
        "hold_places = 0",
        "hold_places = 10000",
    ),
    tried(
        "adults is 6000",
        "Write how many come, from 0 to 5000",
        day(ADULTS),
        "adults = 6000",
        "adults = 12",
        "adults = 5000",
    ),
    tried("nobody is coming", "Write how many eat, as in adults = 12", day(ADULTS), "adults = 0", "adults = 12"),
    tried(
        "'201 %' is more than the whole",
        "Write a share between 0 % and 100 %",
        after(ADULTS),
        'leftovers = "201 %"',
        'leftovers = "100 %"',
    ),
    tried(
        "sure is 100 %",
        "It lies between 50 % and 99.9 %",
        after(ADULTS),
        'sure = "100 %"',
        'sure = "50 %"',
        'sure = "99.9 %"',
    ),
    tried(
        "'lots' is no kind of sides",
        "Write one of: none, usual, many",
        after(ADULTS),
        'sides = "lots"',
        'sides = "none"',
        'sides = "usual"',
        'sides = "many"',
    ),
    tried(
        "cooks is 0", "Write how many can work at the pit, 1 to 50", day(COOKS), "cooks = 0", "cooks = 1", "cooks = 50"
    ),
    tried(
        "'25:00' is not a time of the day",
        "Write it between 00:00 and 23:59",
        after(COOKS),
        '[[hands.away]]\nfrom = "13:00"\nuntil = "25:00"',
        '[[hands.away]]\nfrom = "13:00"\nuntil = "15:00"',
    ),
    tried(
        "'away' is not a list of tables",
        "Head each one with [[hands.away]]",
        after(COOKS),
        '[hands.away]\nfrom = "13:00"\nuntil = "15:00"',
        '[[hands.away]]\nfrom = "13:00"\nuntil = "15:00"',
    ),
    tried(
        '"13 o\'clock" is not a clock time',
        "Write it as in 14:05 or 2:05 pm",
        after(COOKS),
        '[[hands.away]]\nfrom = "13 o\'clock"\nuntil = "15:00"',
        '[[hands.away]]\nfrom = "14:05"\nuntil = "15:00"',
        '[[hands.away]]\nfrom = "2:05 pm"\nuntil = "15:00"',
    ),
    tried(
        "'13 pm' has an hour that am and pm do not have",
        "Write it as in 14:05 or 2:05 pm",
        after(COOKS),
        '[[hands.away]]\nfrom = "13 pm"\nuntil = "15:00"',
        '[[hands.away]]\nfrom = "14:05"\nuntil = "15:00"',
        '[[hands.away]]\nfrom = "2:05 pm"\nuntil = "15:00"',
    ),
    tried(
        "the pit has no temperature",
        'Write one or several, as in set = ["225 F", "250 F"]',
        day(SET),
        "set = []",
        'set = ["225 F", "250 F"]',
    ),
    tried(
        "set has something that is not a text",
        'Write it as in set = ["225 F", "250 F"]',
        day(SET),
        "set = [225, 250]",
        'set = ["225 F", "250 F"]',
    ),
    tried(
        "set is 2500 °F",
        "It lies between 50 °F and 752 °F",
        day(SET),
        'set = ["225 F", "2500 F"]',
        'set = ["50 F", "752 F"]',
    ),
    tried(
        "grates is 0", "Write how many levels it has, 1 to 40", after(SET), "grates = 0", "grates = 1", "grates = 40"
    ),
    tried(
        "'400 in' is no area",
        "Write it as in 300 sq in or 0.2 m2",
        after(SET),
        'grate_area = "400 in"',
        'grate_area = "300 sq in"',
        'grate_area = "0.2 m2"',
    ),
    tried(
        "grate_area is 0.00258064 m2",
        "It lies between 0.02 m2 and 10 m2",
        after(SET),
        'grate_area = "4 sq in"',
        'grate_area = "0.02 m2"',
        'grate_area = "10 m2"',
    ),
    tried(
        "lighting is 7 h",
        "It lies between 0 min and 6 h",
        after(SET),
        'lighting = "7 h"',
        'lighting = "0 min"',
        'lighting = "6 h"',
    ),
    tried("share is 0", "It lies between 0.001 and 100", after(CUT), "share = 0", "share = 0.001", "share = 100"),
    tried(
        "share is not a number",
        "Write it as in share = 1.5, without quotes",
        after(CUT),
        'share = "1.5"',
        "share = 1.5",
    ),
    tried(
        "pieces is 0",
        "Write how many there are, 1 to 500, or leave it out",
        after(CUT),
        "pieces = 0",
        "pieces = 1",
        "pieces = 500",
        "",
    ),
    tried(
        "the item has pit and pits",
        "Leave one of them out",
        after(CUT),
        'pit = "big box"\npits = ["big box"]',
        'pit = "big box"',
        'pits = ["big box"]',
    ),
    tried(
        "'oven' is no pit of this cook", "Write one of: big box", after(CUT), 'pits = ["oven"]', 'pits = ["big box"]'
    ),
    tried(
        "'butt' goes on after the serving time 2026-10-10 18:00",
        "Write an earlier put_on or a later serving time",
        after(CUT),
        'put_on = "2026-10-10 19:00"',
        'put_on = "2026-10-10 04:00"',
    ),
    tried(
        "'foil' is no wrapping",
        "Write one of: usual, with, without, either",
        after(CUT),
        'wrapping = "foil"',
        'wrapping = "usual"',
        'wrapping = "with"',
        'wrapping = "without"',
        'wrapping = "either"',
    ),
    tried(
        "an item with stages of its own also says how it is wrapped",
        "Leave one out",
        after(CUT),
        f'wrapping = "with"\n{STAGE}',
        STAGE,
        'wrapping = "with"',
    ),
    tried(
        "'thawed' is no state",
        "Write one of: chilled, frozen",
        after(CUT),
        'state = "thawed"',
        'state = "chilled"',
        'state = "frozen"',
    ),
    tried(
        "the shortest hold is longer than the longest",
        "Write a shorter one",
        after(CUT),
        'shortest_hold = "5h"\nlongest_hold = "4h"',
        'shortest_hold = "4h"\nlongest_hold = "4h"',
    ),
    tried(
        "the way takes 2 h 30 min, longer than it may be held",
        "Write a longer longest_hold, or a shorter way",
        after(CUT),
        'travel = "2h30"\nlongest_hold = "2h"',
        'travel = "2h30"\nlongest_hold = "3h"',
        'travel = "1h30"\nlongest_hold = "2h"',
    ),
    tried(
        "longest_hold is 30 h",
        "It lies between 0 min and 24 h",
        after(CUT),
        'longest_hold = "30 h"',
        'longest_hold = "0 min"',
        'longest_hold = "24 h"',
    ),
    tried(
        "shortest_hold is 30 h",
        "It lies between 0 min and 24 h",
        after(CUT),
        'shortest_hold = "30 h"',
        'shortest_hold = "0 min"',
        'shortest_hold = "24 h"',
    ),
    tried(
        "hold_at is 120 °F",
        "It lies between 135 °F and 230 °F",
        after(CUT),
        'hold_at = "120 F"',
        'hold_at = "135 F"',
        'hold_at = "230 F"',
    ),
    tried(
        "'4.99' is no price by weight",
        "Write it by weight, as in 4.99 / lb, 3.20 per kg or 4.50 per 500 g",
        after(CUT),
        'price = "4.99"',
        'price = "4.99 / lb"',
        'price = "3.20 per kg"',
        'price = "4.50 per 500 g"',
    ),
    tried(
        "price is 19841.6 per kg",
        "It lies between 0 per kg and 10000 per kg",
        after(CUT),
        'price = "9000 / lb"',
        'price = "0 per kg"',
        'price = "10000 per kg"',
    ),
    tried(
        "'butt' is served after the cook's own serving time",
        "Write the last serving time under [cook]",
        after(CUT),
        'serve = "2026-10-10 19:00"',
        'serve = "2026-10-10 17:00"',
    ),
    tried(
        "'butt' does not say how many, and there are no guests to reckon it from",
        "Write pieces = 3, or a [guests] with adults = 12",
        day(GUESTS),
        "",
        GUESTS,
    ),
    tried(
        "'butt' does not say how many, and there are no guests to reckon it from",
        "Write pieces = 3, or a [guests] with adults = 12",
        whole,
        DAY.replace(GUESTS, ""),
        DAY,
        DAY.replace(GUESTS, "") + "pieces = 3\n",
    ),
    tried(
        "leftovers is 300 %", "It lies between 0 % and 200 %", lambda share: Guests(12, leftovers=share), 3.0, 0.0, 2.0
    ),
]
