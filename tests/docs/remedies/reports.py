"""What is wrong in a reader's report."""

from tests.docs.remedies.tried import swapped, tried

from pitreckon.lessons.diagnosis.report import Report, report_from_text

REPORT = """\
came_out = ["tough"]

[did]
cut = "st-louis-ribs"
"""
CUT, TOUGH = 'cut = "st-louis-ribs"', 'came_out = ["tough"]'


def report(text: str) -> Report:
    return report_from_text(text, "plate.toml")


def did(keys: str) -> Report:
    """The report with more told."""
    return report(REPORT + keys)


def came_out(line: str) -> Report:
    return report(swapped(REPORT, TOUGH, line))


REPORTS = [
    tried("the file is empty", "Write came_out = [...] and below it [did]", report, "", REPORT),
    tried(
        "there is no [did]",
        "Write [did] with the cut, and what else you know",
        report,
        'came_out = ["tough"]\n',
        REPORT,
    ),
    tried("cut is missing", 'Write it as in cut = "st-louis-ribs"', report, 'came_out = ["tough"]\n[did]\n', REPORT),
    tried(
        "nothing says what was wrong with it", 'Write it as in came_out = ["tough", "too pale"]', came_out, "", TOUGH
    ),
    tried(
        "'tuff' is no fault that we know",
        "Write one of: too dark, too pale, tough, mushy, dry, raw near the bone, bitter, crust soft, salty",
        came_out,
        'came_out = ["tuff"]',
        TOUGH,
    ),
    tried(
        "it cannot be both tough and mushy",
        "Write the one that most of it was",
        came_out,
        'came_out = ["tough", "mushy"]',
        TOUGH,
        'came_out = ["mushy"]',
    ),
    tried(
        "nothing was wrong with it",
        "Write one or more of: too dark, too pale, tough, mushy, dry, raw near the bone, bitter, crust soft, salty",
        lambda faults: Report("st-louis-ribs", faults),
        (),
        ("tough",),
        ("too dark", "salty"),
    ),
    tried(
        "'cold' is no fault that we know",
        "Write any of: too dark, too pale, tough, mushy, dry, raw near the bone, bitter, crust soft, salty",
        lambda faults: Report("st-louis-ribs", faults),
        ("cold",),
        ("tough",),
        ("dry",),
    ),
    tried(
        "'two' is no thermometer",
        "Write none or one",
        lambda word: Report("st-louis-ribs", ("dry",), thermometer=word),
        "two",
        "none",
        "one",
    ),
    tried(
        "'two' is no answer about a thermometer",
        "Write one of: none, one, no, yes",
        did,
        'thermometer = "two"',
        'thermometer = "none"',
        'thermometer = "one"',
    ),
    tried(
        "it was read from no thermometer",
        'Leave it out, or write thermometer = "one"',
        did,
        'thermometer = "none"\npulled_at = "195 F"',
        'thermometer = "none"',
        'thermometer = "one"\npulled_at = "195 F"',
    ),
    tried(
        "it was not wrapped, and yet it was",
        "Leave out wrapped_after and liquid, or say the wrap",
        did,
        'wrap = "none"\nwrapped_after = "2h"',
        'wrap = "none"',
        'wrap = "foil"\nwrapped_after = "2h"',
    ),
    tried(
        "it was on for 2 h, and the parts of that take 3 h",
        "Write the whole time on the pit, wrap and glaze included",
        did,
        'on = "2h"\nwrapped_after = "3h"',
        'on = "5h30"\nwrapped_after = "3h"',
    ),
    tried(
        "weight is 181.44 kg",
        "It lies between 5 g and 150 kg",
        did,
        'weight = "400 lb"',
        'weight = "5 g"',
        'weight = "150 kg"',
    ),
    tried(
        "thickness is 914.4 mm",
        "It lies between 3 mm and 600 mm",
        did,
        'thickness = "3 ft"',
        'thickness = "3 mm"',
        'thickness = "600 mm"',
    ),
    tried(
        "start is 200 °F",
        "It lies between 28 °F and 113 °F",
        did,
        'start = "200 F"',
        'start = "28 F"',
        'start = "113 F"',
    ),
    tried("set is 900 °F", "It lies between 140 °F and 572 °F", did, 'set = "900 F"', 'set = "140 F"', 'set = "572 F"'),
    tried("on is 5 min", "It lies between 10 min and 36 h", did, 'on = "5 min"', 'on = "10 min"', 'on = "36 h"'),
    tried(
        "wrapped_after is 40 h",
        "It lies between 1 min and 30 h",
        did,
        'wrapped_after = "40 h"',
        'wrapped_after = "1 min"',
        'wrapped_after = "30 h"',
    ),
    tried(
        "liquid is 9 kg", "It lies between 0 g and 5 kg", did, 'liquid = "9 kg"', 'liquid = "0 g"', 'liquid = "5 kg"'
    ),
    tried(
        "sauced_for is 9 h",
        "It lies between 0 min and 6 h",
        did,
        'sauced_for = "9 h"',
        'sauced_for = "0 min"',
        'sauced_for = "6 h"',
    ),
    tried("rest is 20 h", "It lies between 0 min and 12 h", did, 'rest = "20 h"', 'rest = "0 min"', 'rest = "12 h"'),
    tried(
        "pulled_at is 40 °F",
        "It lies between 86 °F and 221 °F",
        did,
        'pulled_at = "40 F"',
        'pulled_at = "86 F"',
        'pulled_at = "221 F"',
    ),
    tried(
        "salt is 200 g/kg",
        "It lies between 0 g/kg and 100 g/kg",
        did,
        'salt = "200 g/kg"',
        'salt = "0 g/kg"',
        'salt = "100 g/kg"',
    ),
    tried(
        "altitude is 9000 m",
        "It lies between -500 m and 5000 m",
        did,
        'altitude = "9000 m"',
        'altitude = "-500 m"',
        'altitude = "5000 m"',
    ),
    tried(
        "colour is 1.90", "It lies between 0.00 and 1.50", did, 'colour = "1.9"', 'colour = "0.00"', 'colour = "1.50"'
    ),
    tried("air is 200 °F", "It lies between -40 °F and 122 °F", did, 'air = "200 F"', 'air = "-40 F"', 'air = "122 F"'),
]
