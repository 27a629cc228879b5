"""What is wrong in a cook file, and what its remedy makes of it."""

from collections.abc import Callable
from datetime import UTC, datetime

from tests.docs.remedies.tried import swapped, tried

from pitreckon import catalog
from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text

COOK = """\
[cook]
name = "harvest supper"
zone = "America/Chicago"
serve = "2026-10-10 18:00"

[[pit]]
name = "big box"
kind = "pellet-cooker"
set = "275 F"

[[item]]
name = "racks"
cut = "st-louis-ribs"
pieces = 3
weight = "2 lb 12 oz"
pit = "big box"
put_on = "2026-10-10 13:00"

[[item.stage]]
do = "open"
until = "colour"

[trips]
walk = "15 min"
"""
TASK = '[[task]]\nname = "slaw"\nat = "2026-10-10 16:30"\n'
AWAY = '[[away]]\nfrom = "2026-10-09 23:30"\n'
SECOND = (
    '\n[[item]]\nname = "{}"\ncut = "st-louis-ribs"\nweight = "2 lb"\npit = "big box"\nput_on = "2026-10-10 13:00"\n'
)
NOON = datetime(2026, 10, 10, 17, tzinfo=UTC)


def cook(at: str, base: str = COOK) -> Callable[[str], Cook]:
    """Reads the cook file with a piece in the place of another."""
    return lambda piece: cook_from_text(swapped(base, at, piece), "supper.toml")


def whole(text: str) -> Cook:
    return cook_from_text(text, "supper.toml")


def more(tables: str) -> Cook:
    """The cook of the file with these tables behind it."""
    return whole(COOK + tables)


def stage(keys: str) -> Cook:
    """The cook of the file with these keys as its stage."""
    return whole(swapped(COOK, 'do = "open"\nuntil = "colour"', keys))


NAME, ZONE, SERVE = 'name = "harvest supper"', 'zone = "America/Chicago"', 'serve = "2026-10-10 18:00"'
SET, WEIGHT, PIT, PUT_ON = 'set = "275 F"', 'weight = "2 lb 12 oz"', 'pit = "big box"', 'put_on = "2026-10-10 13:00"'
ITEM = COOK[COOK.index("[[item]]") : COOK.index("[trips]")]
BARE = swapped(COOK, SERVE + "\n", "")
"""Without a time to serve."""

COOKS = [
    # the file and its tables
    tried("the file is empty", "Write a [cook], a [[pit]] and an [[item]]", whole, "", COOK),
    tried("'cooks' is no key of file", "Did you mean 'cook'", whole, COOK.replace("[cook]", "[cooks]"), COOK),
    tried(
        "'name' is no key of file",
        "Write it below the head of its table, one of: cook, pit, item, task, away, trips",
        cook("[cook]\n"),
        "",
        "[cook]\n",
    ),
    tried("there is no [cook]", "Write [cook] with its name and its zone", cook("[cook]\n"), "[[cook]]\n", "[cook]\n"),
    tried("'pit' is not a list of tables", "Head each one with [[pit]]", cook("[[pit]]"), "[pit]", "[[pit]]"),
    tried("trips is not one table", "Head it with [trips]", cook("[trips]"), "[[trips]]", "[trips]"),
    tried("name is missing", 'Write it as in name = "harvest supper"', cook(NAME), "", NAME),
    tried(
        "'guest' is no key of cook",
        "Write any of: name, zone, serve, altitude, air, humidity, rules",
        cook(NAME),
        NAME + "\nguest = 12",
        NAME,
    ),
    tried("'served' is no key of cook", "Did you mean 'serve'", cook(SERVE), 'served = "2026-10-10 18:00"', SERVE),
    tried(
        "name is not a text", 'Write it as in name = "harvest supper"', cook(NAME), 'name = ["harvest", "supper"]', NAME
    ),
    tried(
        "name is a huge number", 'Write it as in name = "harvest supper"', cook(NAME), "name = 0x" + "f" * 4000, NAME
    ),
    tried(
        "the name is blank, too long or not plain text",
        "Write 1 to 60 signs on one line",
        cook(NAME),
        'name = " "',
        NAME,
    ),
    tried(
        "'Racks' is also the name of item 1",
        "Give each its own name",
        cook(ITEM),
        ITEM + SECOND.format("Racks"),
        ITEM + SECOND.format("more racks"),
    ),
    tried(
        "the cook has no pit",
        "Add a [[pit]] with its name, kind and set temperature",
        cook(COOK[COOK.index("[[pit]]") : COOK.index("[trips]")]),
        "[trips]\n"[:0],
        COOK[COOK.index("[[pit]]") : COOK.index("[trips]")],
    ),
    tried("the cook has no items", "Add an [[item]] with its cut, weight, pit and put_on", cook(ITEM), "", ITEM),
    # [cook]
    tried(
        "'America/Chikago' is not a time zone",
        "Write its IANA name, such as America/Chicago or Indian/Chagos",
        cook(ZONE),
        'zone = "America/Chikago"',
        ZONE,
    ),
    tried(
        "'CST' is not a time zone",
        "Write its IANA name, such as America/Chicago or Europe/Berlin",
        cook(ZONE),
        'zone = "CST"',
        ZONE,
    ),
    tried(
        "'here' is not a time zone",
        "Write its IANA name, such as America/Chicago or Europe/Berlin",
        cook(ZONE),
        'zone = "here"',
        ZONE,
    ),
    tried(
        "'mars' is no set of rules",
        "Write one of: us, canada, uk",
        cook(NAME),
        NAME + '\nrules = "mars"',
        NAME + '\nrules = "us"',
        NAME + '\nrules = "canada"',
        NAME + '\nrules = "uk"',
    ),
    tried(
        "'8 m 20 km' is not a height",
        "Write it as in 5280 ft or 1600 m",
        cook(NAME),
        NAME + '\naltitude = "8 m 20 km"',
        NAME + '\naltitude = "5280 ft"',
        NAME + '\naltitude = "1600 m"',
    ),
    tried(
        "altitude is 8839.2 m",
        "It lies between -500 m and 6000 m",
        cook(NAME),
        NAME + '\naltitude = "29000 ft"',
        NAME + '\naltitude = "-500 m"',
        NAME + '\naltitude = "6000 m"',
    ),
    tried(
        "air is 200 °F",
        "It lies between -58 °F and 140 °F",
        cook(NAME),
        NAME + '\nair = "200 F"',
        NAME + '\nair = "-58 F"',
        NAME + '\nair = "140 F"',
    ),
    tried(
        "'60' is a share with no unit",
        "Write the unit too, as in 60 % or 1/3",
        cook(NAME),
        NAME + '\nhumidity = "60"',
        NAME + '\nhumidity = "60 %"',
        NAME + '\nhumidity = "1/3"',
    ),
    tried(
        "'120 %' is more than the whole",
        "Write a share between 0 % and 100 %",
        cook(NAME),
        NAME + '\nhumidity = "120 %"',
        NAME + '\nhumidity = "0 %"',
        NAME + '\nhumidity = "100 %"',
    ),
    tried(
        "'10/10/2026 6 pm' is not a date and time",
        "Write it as in 2026-10-10 18:00 (the cook's local time) or 2026-10-10T18:00:00-05:00",
        cook(SERVE),
        'serve = "10/10/2026 6 pm"',
        SERVE,
        'serve = "2026-10-10T18:00:00-05:00"',
    ),
    tried(
        "'2026-10-32 18:00' has a day that does not exist",
        "Write it as in 2026-10-10 18:00 (the cook's local time) or 2026-10-10T18:00:00-05:00",
        cook(SERVE),
        'serve = "2026-10-32 18:00"',
        SERVE,
    ),
    tried(
        "the serving time 2026-10-10 12:00 is not after the start: 'racks' is put on at 2026-10-10 13:00",
        "Write a later serving time or an earlier put_on",
        cook(SERVE),
        'serve = "2026-10-10 12:00"',
        SERVE,
    ),
    tried(
        "'racks' goes on 31 days before it is served",
        "Check the day, the month and the year of serve and of put_on",
        cook(SERVE),
        'serve = "2026-11-10 18:00"',
        SERVE,
    ),
    tried(
        "'1926-10-10 18:00' is not in our times",
        "Write a year from 1971 to 2199",
        cook(SERVE),
        'serve = "1926-10-10 18:00"',
        SERVE,
    ),
    # [[pit]]
    tried("set is missing", 'Write it as in set = "275 F"', cook(SET), "", SET),
    tried(
        "'275' is a temperature with no unit",
        "Write the unit too, as in 275 F or 135 C",
        cook(SET),
        'set = "275"',
        SET,
        'set = "135 C"',
    ),
    tried(
        "'275' is a temperature with no unit",
        "Write the unit too, as in 275 F or 135 C",
        cook(SET),
        "set = 275",
        SET,
        'set = "135 C"',
    ),
    tried(
        "'hot' is not a temperature", "Write it as in 275 F or 135 C", cook(SET), 'set = "hot"', SET, 'set = "135 C"'
    ),
    tried(
        "'+25 F' is a temperature difference, and a temperature is wanted",
        "Write it as in 275 F or 135 C",
        cook(SET),
        'set = "+25 F"',
        SET,
        'set = "135 C"',
    ),
    tried(
        "'-500 F' is colder than absolute zero",
        "Write a temperature such as 275 F or 135 C",
        cook(SET),
        'set = "-500 F"',
        SET,
        'set = "135 C"',
    ),
    tried(
        "set is 900 °F", "It lies between 50 °F and 752 °F", cook(SET), 'set = "900 F"', 'set = "50 F"', 'set = "752 F"'
    ),
    tried(
        "water_pan is neither true nor false",
        "Write water_pan = true, without quotes, or leave it out",
        cook(SET),
        SET + '\nwater_pan = "yes"',
        SET + "\nwater_pan = true",
        SET,
    ),
    tried(
        "feed_every is 20 s",
        "It lies between 5 min and 48 h",
        cook(SET),
        SET + '\nfeed_every = "20 s"',
        SET + '\nfeed_every = "5 min"',
        SET + '\nfeed_every = "48 h"',
    ),
    tried(
        "feed is 500 kg",
        "It lies between 10 g and 100 kg",
        cook(SET),
        SET + '\nfeed = "500 kg"',
        SET + '\nfeed = "10 g"',
        SET + '\nfeed = "100 kg"',
    ),
    tried(
        "'pelet coker' is no kind of pit that we know",
        "Write pellet-cooker or electric-cabinet or water-smoker; 'pitreckon pits' lists all",
        cook('kind = "pellet-cooker"'),
        'kind = "pelet coker"',
        'kind = "pellet-cooker"',
    ),
    tried(
        "'thing' is no kind of pit that we know",
        f"Write one of: {', '.join(catalog.pits())}",
        cook('kind = "pellet-cooker"'),
        'kind = "thing"',
        'kind = "kettle"',
    ),
    # [[item]]
    tried(
        "'st lewis rib' is no cut that we know",
        "Write st-louis-ribs or back-ribs or beef-plate-ribs or beef-back-ribs; 'pitreckon cuts' lists all",
        cook('cut = "st-louis-ribs"'),
        'cut = "st lewis rib"',
        'cut = "st-louis-ribs"',
    ),
    tried(
        "'xyzzy' is no cut that we know",
        f"Write one of: {', '.join(catalog.cuts())}",
        cook('cut = "st-louis-ribs"'),
        'cut = "xyzzy"',
        'cut = "st-louis-ribs"',
    ),
    tried(
        "pieces is not a whole number",
        "Write it as in pieces = 3, without quotes",
        cook("pieces = 3"),
        'pieces = "3"',
        "pieces = 3",
    ),
    tried(
        "pieces is a huge number", "Write it as in pieces = 3", cook("pieces = 3"), "pieces = 3000000000", "pieces = 3"
    ),
    tried("pieces is 0", "Write how many there are, 1 or more", cook("pieces = 3"), "pieces = 0", "pieces = 1"),
    tried(
        "pieces is 501", "It lies between 1 and 500", cook("pieces = 3"), "pieces = 501", "pieces = 1", "pieces = 500"
    ),
    tried("weight is missing", 'Write it as in weight = "2 lb 12 oz"', cook(WEIGHT), "", WEIGHT),
    tried(
        "the weight is blank",
        "Write it with its unit, as in 4 lb 6 oz or 1.25 kg",
        cook(WEIGHT),
        'weight = ""',
        'weight = "4 lb 6 oz"',
        'weight = "1.25 kg"',
    ),
    tried(
        "'1,25 kg' has a comma in a number",
        "Write decimals with a point, as in 4 lb 6 oz or 1.25 kg, and no thousands marks",
        cook(WEIGHT),
        'weight = "1,25 kg"',
        'weight = "1.25 kg"',
    ),
    tried(
        "'3 pieces' is not a weight",
        "Write it as in 4 lb 6 oz or 1.25 kg",
        cook(WEIGHT),
        'weight = "3 pieces"',
        'weight = "4 lb 6 oz"',
        'weight = "1.25 kg"',
    ),
    tried(
        "'2.75' is a weight with no unit",
        "Write the unit too, as in 4 lb 6 oz or 1.25 kg",
        cook(WEIGHT),
        'weight = "2.75"',
        'weight = "2.75 lb"',
    ),
    tried(
        "'2 lb 12' ends in a number with no unit",
        "Write every unit, as in 4 lb 6 oz or 1.25 kg",
        cook(WEIGHT),
        'weight = "2 lb 12"',
        WEIGHT,
    ),
    tried(
        "'-2 lb' is a negative weight",
        "Write a weight above zero, as in 4 lb 6 oz or 1.25 kg",
        cook(WEIGHT),
        'weight = "-2 lb"',
        'weight = "2 lb"',
    ),
    tried(
        "'2 oz 3 lb' mixes its units",
        "Write the weight as in 4 lb 6 oz or 1.25 kg",
        cook(WEIGHT),
        'weight = "2 oz 3 lb"',
        'weight = "3 lb 2 oz"',
    ),
    tried(
        "in '2 lb 20 oz' the smaller part is more than one of the larger",
        "Write it as in 4 lb 6 oz or 1.25 kg",
        cook(WEIGHT),
        'weight = "2 lb 20 oz"',
        'weight = "3 lb 4 oz"',
    ),
    tried(
        "'1/0' divides by zero", "Write a fraction such as 1/4", cook(WEIGHT), 'weight = "1/0 lb"', 'weight = "1/4 lb"'
    ),
    tried(
        "weight is 181.44 kg",
        "It lies between 5 g and 150 kg",
        cook(WEIGHT),
        'weight = "400 lb"',
        'weight = "5 g"',
        'weight = "150 kg"',
    ),
    tried(
        "start is 200 °F",
        "It lies between -13 °F and 113 °F",
        cook(WEIGHT),
        WEIGHT + '\nstart = "200 F"',
        WEIGHT + '\nstart = "-13 F"',
        WEIGHT + '\nstart = "113 F"',
    ),
    tried(
        "thickness is 914.4 mm",
        "It lies between 3 mm and 600 mm",
        cook(WEIGHT),
        WEIGHT + '\nthickness = "3 ft"',
        WEIGHT + '\nthickness = "3 mm"',
        WEIGHT + '\nthickness = "600 mm"',
    ),
    tried(
        "thinner is 95 %",
        "It lies between 0 % and 90 %",
        cook(WEIGHT),
        WEIGHT + '\nthinner = "95 %"',
        WEIGHT + '\nthinner = "0 %"',
        WEIGHT + '\nthinner = "90 %"',
    ),
    tried(
        "'lots' is no amount of sugar",
        "Write one of: none, some, much",
        cook(WEIGHT),
        WEIGHT + '\nsugar = "lots"',
        WEIGHT + '\nsugar = "none"',
        WEIGHT + '\nsugar = "some"',
        WEIGHT + '\nsugar = "much"',
    ),
    tried(
        "'15' is a salt dose with no unit",
        "Write the unit too, as in 15 g/kg or 1.5 %",
        cook(WEIGHT),
        WEIGHT + '\nsalt = "15"',
        WEIGHT + '\nsalt = "15 g/kg"',
        WEIGHT + '\nsalt = "1.5 %"',
    ),
    tried(
        "salt is 200 g/kg",
        "It lies between 0 g/kg and 100 g/kg",
        cook(WEIGHT),
        WEIGHT + '\nsalt = "20 %"',
        WEIGHT + '\nsalt = "0 g/kg"',
        WEIGHT + '\nsalt = "100 g/kg"',
    ),
    tried("'big bocks' is no pit of this cook", "Did you mean 'big box'", cook(PIT), 'pit = "big bocks"', PIT),
    tried("'oven' is no pit of this cook", "Write one of: big box", cook(PIT), 'pit = "oven"', PIT),
    tried(
        "pit is missing, and the cook has not just one",
        "Write one of: big box, kettle",
        cook(PIT, swapped(COOK, SET, SET + '\n[[pit]]\nname = "kettle"\nkind = "kettle"\nset = "300 F"')),
        "",
        PIT,
        'pit = "kettle"',
    ),
    tried(
        "pit is missing, and the cook has not just one",
        "Write a [[pit]] first",
        cook("[[pit]]", swapped(COOK, PIT + "\n", "")),
        "[[pits]]"[:0] + "[[task]]",
        "[[pit]]",
    ),
    tried("put_on is missing", 'Write it as in put_on = "2026-10-10 13:00"', cook(PUT_ON), "", PUT_ON),
    tried(
        "it is served before it goes on",
        "Write a later serve or an earlier put_on",
        cook(PUT_ON),
        PUT_ON + '\nserve = "2026-10-10 12:00"',
        PUT_ON + '\nserve = "2026-10-10 17:00"',
    ),
    tried(
        "'racks' is served after the cook's own serving time",
        "Write the last serving time under [cook]",
        cook(PUT_ON),
        PUT_ON + '\nserve = "2026-10-10 19:00"',
        PUT_ON + '\nserve = "2026-10-10 17:00"',
    ),
    tried(
        "'2026-03-08 02:30' does not exist in America/Chicago: the clocks are put forward over it",
        "Write 03:30 if the clock showed that, or give an offset as in 2026-03-08T03:30:00-05:00",
        cook(PUT_ON, swapped(COOK, SERVE, 'serve = "2026-03-08 18:00"')),
        'put_on = "2026-03-08 02:30"',
        'put_on = "2026-03-08 03:30"',
        'put_on = "2026-03-08T03:30:00-05:00"',
    ),
]
