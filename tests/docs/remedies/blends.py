"""What is wrong in a mix file, or in a reader's report."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from unittest.mock import patch

from tests.docs.remedies.tried import swapped, tried

from pitreckon.catalog.foods import foods
from pitreckon.flavour import read as flavour_read
from pitreckon.flavour.mix import Amount, Mix, MixLine, OwnFood, Plate
from pitreckon.flavour.read import mix_from_text, read_mix

MIX = """\
[mix]
name = "gate rub"
use = "rub"

[[food]]
name = "yard honey"
serving_weight = "21 g"

[[ingredient]]
food = "paprika"
amount = "2 tbsp"
"""
NAME, USE, WEIGHS, FOOD, AMOUNT = (
    'name = "gate rub"',
    'use = "rub"',
    'serving_weight = "21 g"',
    'food = "paprika"',
    'amount = "2 tbsp"',
)
HONEY = '\n[[ingredient]]\nfood = "yard honey"\namount = "{}"\n'
LINE = MIX[MIX.index("[[ingredient]]") :]
PLATE = '\n[plate]\nmeat = "spareribs"\nraw = "6 kg"\nserves = 12\n'


def whole(text: str) -> Mix:
    return mix_from_text(text, "rub.toml")


def mix(at: str) -> Callable[[str], Mix]:
    """Reads the mix with a piece in the place of another."""
    return lambda piece: whole(swapped(MIX, at, piece))


def after(line: str) -> Callable[[str], Mix]:
    """Reads the mix with more keys behind a line."""
    return lambda keys: whole(swapped(MIX, line, f"{line}\n{keys}"))


def beside(text: str) -> Mix:
    """Reads the mix from a file, with the pepper base and a chain of mixes beside it."""
    Path("pepper-base.toml").write_text(MIX.replace("gate rub", "pepper base"), "utf-8")
    Path("rub.toml").write_text(text, "utf-8")
    return read_mix(Path("rub.toml"))


def chain(long: int) -> Mix:
    """So many mixes, each in the one before; the last has a food."""
    for n in range(long):
        inside = f'mix = "deep{n + 1}.toml"' if n < long - 1 else 'food = "salt"'
        head = f'[mix]\nname = "deep {n}"\nuse = "rub"\n'
        Path(f"deep{n}.toml").write_text(f'{head}[[ingredient]]\n{inside}\namount = "10 g"\n', "utf-8")
    return read_mix(Path("deep0.toml"))


def in_parts(amount: str) -> Mix:
    """The mix where a part is a spoon."""
    return whole(swapped(MIX, USE, f'{USE}\npart = "1 tbsp"').replace("2 tbsp", amount))


def unweighed(amount: str) -> Mix:
    """The mix with paprika whose spoonful nobody has weighed: today the catalog has no such food."""
    table = {**foods(), "paprika": replace(foods()["paprika"], density_kg_m3=None)}
    with patch.object(flavour_read, "foods", lambda: table):
        return whole(swapped(MIX, "2 tbsp", amount))


def inner(name: str) -> str:
    return swapped(MIX, FOOD, f'mix = "{name}"')


def kept(names: tuple[str, ...]) -> Mix:
    """The mix with one in it that is kept by its name, where these are kept."""
    return mix_from_text(inner("pepper base"), "rub", lambda name: MIX if name in names else None)


def from_file(as_file: bool) -> Mix:
    return beside(inner("pepper-base.toml")) if as_file else whole(inner("pepper-base.toml"))


MIXES = [
    tried("there is no [mix]", "Write [mix] with its name and its use", whole, "", MIX),
    tried("'mixes' is no key of file", "Did you mean 'mix'", whole, MIX.replace("[mix]", "[mixes]"), MIX),
    tried("the mix has no ingredients", "Add an [[ingredient]] with a food and an amount", mix(LINE), "", LINE),
    tried("use is missing", 'Write it as in use = "rub"', mix(USE), "", USE),
    tried("'rubb' is no use of a mix that we know", "Write rub", mix(USE), 'use = "rubb"', USE),
    tried(
        "'runny' is no body of a mix that we know",
        "Write one of: thin, syrup, thick",
        after(USE),
        'body = "runny"',
        'body = "thin"',
        'body = "syrup"',
        'body = "thick"',
    ),
    tried(
        "'2' is an amount with no unit",
        "Write it as in 40 g, 1 1/2 tbsp or 3 parts",
        in_parts,
        "2",
        "40 g",
        "1 1/2 tbsp",
        "3 parts",
    ),
    tried(
        "'some' is not an amount",
        "Write it as in 40 g, 1 1/2 tbsp or 3 parts",
        in_parts,
        "some",
        "40 g",
        "1 1/2 tbsp",
        "3 parts",
    ),
    tried(
        "amount is 2000 kg",
        "It lies between 0.001 g and 1000 kg",
        mix(AMOUNT),
        'amount = "2000 kg"',
        'amount = "0.001 g"',
        'amount = "1000 kg"',
    ),
    tried(
        "amount is 2000 l",
        "It lies between 0.01 ml and 1000 l",
        mix(AMOUNT),
        'amount = "2000 l"',
        'amount = "0.01 ml"',
        'amount = "1000 l"',
    ),
    tried(
        "'1 tsp 2 tbsp' mixes its units",
        "Write the volume as in 1 1/2 tbsp, 1/4 cup or 250 ml",
        mix(AMOUNT),
        'amount = "1 tsp 2 tbsp"',
        'amount = "2 tbsp 1 tsp"',
    ),
    tried(
        "amount is 20000",
        "It lies between 0.0001 and 10000",
        lambda value: Amount("parts", value),
        20_000.0,
        0.0001,
        10_000.0,
    ),
    tried(
        "amounts are in parts, and nothing says what a part is",
        'Write part = "1 tbsp" or "10 g"',
        whole,
        swapped(MIX, "2 tbsp", "3 parts"),
        *(swapped(MIX, "2 tbsp", "3 parts").replace(USE, f'{USE}\npart = "{each}"') for each in ("1 tbsp", "10 g")),
    ),
    tried(
        "a part cannot be in parts",
        'Write part = "1 tbsp" or part = "10 g"',
        after(USE),
        'part = "2 parts"',
        'part = "1 tbsp"',
        'part = "10 g"',
    ),
    tried(
        "a serving cannot be in parts",
        'Write serving = "2 tbsp" or serving = "30 g"',
        after(USE),
        'serving = "2 parts"',
        'serving = "2 tbsp"',
        'serving = "30 g"',
    ),
    tried(
        "'racks' does not say how much of what",
        "Write it as in 2 racks, 2.5 kg or 0.4 m2",
        after(USE),
        'covers = "racks"',
        'covers = "2 racks"',
        'covers = "2.5 kg"',
        'covers = "0.4 m2"',
    ),
    tried(
        "covers gives rack twice",
        "Write it once",
        after(USE),
        'covers = ["2 racks", "3 racks"]',
        'covers = "3 racks"',
        'covers = ["3 racks"]',
    ),
    tried(
        "covers is 2000000 rack",
        "It lies between 0.000001 rack and 1000000 rack",
        after(USE),
        'covers = "2000000 racks"',
        'covers = "0.000001 rack"',
        'covers = "1000000 rack"',
    ),
    tried(
        "covers is 2000000 kg",
        "It lies between 0.001 g and 1000000 kg",
        after(USE),
        'covers = "2000000 kg"',
        'covers = "0.001 g"',
        'covers = "1000000 kg"',
    ),
    tried(
        "covers is 2000000 m2",
        "It lies between 0.000001 m2 and 1000000 m2",
        after(USE),
        'covers = "2000000 m2"',
        'covers = "0.000001 m2"',
        'covers = "1000000 m2"',
    ),
    tried(
        "'paprica' is no food that we know",
        "Write paprika or garlic; 'pitreckon mix --foods' lists all",
        mix(FOOD),
        'food = "paprica"',
        'food = "paprika"',
    ),
    tried(
        "'xyzzy' is no food that we know",
        "Give it a [[food]]; 'pitreckon mix --foods' lists all",
        mix(LINE),
        LINE.replace("paprika", "xyzzy"),
        '[[food]]\nname = "xyzzy"\nserving = "1 tbsp"\nserving_weight = "8 g"\n' + LINE.replace("paprika", "xyzzy"),
    ),
    tried(
        "an ingredient is one food or one mix",
        "Write either food = or mix =",
        mix(FOOD),
        'food = "paprika"\nmix = "pepper-base.toml"',
        FOOD,
    ),
    tried(
        "an ingredient is one food or one mix",
        "Write food = or mix =, not both",
        lambda both: MixLine(Amount("weight", 0.01), **both),
        {"food": "paprika", "own": "yard honey"},
        {"food": "paprika"},
    ),
    tried("'paprika' is in the mix twice", "Write it once, with the whole amount", after(AMOUNT), LINE, ""),
    tried(
        "'3 per spoon' is no price by weight",
        "Write it by weight, as in 4.99 / lb, 3.20 per kg or 4.50 per 500 g",
        after(AMOUNT),
        'price = "3 per spoon"',
        'price = "4.99 / lb"',
        'price = "3.20 per kg"',
        'price = "4.50 per 500 g"',
    ),
    tried(
        "price is 200000 per kg",
        "It lies between 0 per kg and 100000 per kg",
        after(AMOUNT),
        'price = "200000 / kg"',
        'price = "0 per kg"',
        'price = "100000 per kg"',
    ),
    tried(
        "pack is 2000 kg",
        "It lies between 1 g and 1000 kg",
        after(AMOUNT),
        'pack = "2000 kg"',
        'pack = "1 g"',
        'pack = "1000 kg"',
    ),
    tried(
        "nothing says what a spoonful of 'yard honey' weighs",
        'Give its [[food]] a serving = "1 tbsp", or write its weight',
        after(AMOUNT),
        HONEY.format("1 tbsp"),
        HONEY.format("20 g"),
    ),
    tried("this mix is not in a folder in which others could be", "Read it from a file", from_file, False, True),
    tried(
        "'rub.toml' is a mix that this one is a part of",
        "Leave it out: a mix cannot be in itself",
        beside,
        inner("rub.toml"),
        MIX,
    ),
    tried("mixes are nested more than 8 deep", "Write its ingredients here", chain, 11, 6),
    tried(
        "there is no such file",
        "Check its name and folder",
        beside,
        inner("peper-base.toml"),
        inner("pepper-base.toml"),
    ),
    tried(
        "'pepper base' is no mix that is kept here", "Keep that one first, under this name", kept, (), ("pepper base",)
    ),
    # [[food]]
    tried(
        "'Yard honey' is also the name of food 1",
        "Give each its own name",
        after(WEIGHS),
        '[[food]]\nname = "Yard honey"\nserving_weight = "20 g"',
        '[[food]]\nname = "gate honey"\nserving_weight = "20 g"',
    ),
    tried(
        "serving_weight is 2 kg",
        "It lies between 0.1 g and 1 kg",
        mix(WEIGHS),
        'serving_weight = "2 kg"',
        'serving_weight = "0.1 g"',
        'serving_weight = "1 kg"',
    ),
    tried(
        "'many' is not a number", "Write a plain number, as in 60", after(WEIGHS), 'calories = "many"', "calories = 60"
    ),
    tried(
        "calories is 900",
        "It lies between 0 and 204.5",
        after(WEIGHS),
        "calories = 900",
        "calories = 0",
        "calories = 204.5",
    ),
    tried("fat is 40 g", "It lies between 0 g and 22 g", after(WEIGHS), 'fat = "40 g"', 'fat = "0 g"', 'fat = "22 g"'),
    tried(
        "sodium is 40000 mg",
        "It lies between 0 mg and 21000 mg",
        after(WEIGHS),
        'sodium = "40 g"',
        'sodium = "0 mg"',
        'sodium = "21000 mg"',
    ),
    tried(
        "sugars is 20 g, more than the 2 g of carbohydrate",
        "Write both as on the label: it is a part of that",
        after(WEIGHS),
        'carbohydrate = "2 g"\nsugars = "20 g"',
        'carbohydrate = "20 g"\nsugars = "20 g"',
        'carbohydrate = "20 g"\nsugars = "2 g"',
    ),
    tried(
        "'hot' is no pungency",
        "Write it as in 1000 to 2500 SHU",
        after(WEIGHS),
        'pungency = "hot"',
        'pungency = "1000 to 2500 SHU"',
    ),
    tried(
        "pungency is 20000000 SHU",
        "It lies between 0 SHU and 16000000 SHU",
        after(WEIGHS),
        'pungency = "20000000 SHU"',
        'pungency = "0 SHU"',
        'pungency = "16000000 SHU"',
    ),
    tried(
        "pungency is 1000 SHU",
        "It lies between 2500 SHU and 16000000 SHU",
        after(WEIGHS),
        'pungency = "2500 to 1000 SHU"',
        'pungency = "2500 to 2500 SHU"',
        'pungency = "2500 to 16000000 SHU"',
    ),
    tried(
        "acid is 150 %",
        "It lies between 0 % and 100 %",
        lambda acid: OwnFood("vinegar", 0.02, acid=acid),
        (1.5, 2.0),
        (0.0, 0.5),
        (1.0, 1.0),
    ),
    tried(
        "acid is 4 %",
        "It lies between 6 % and 100 %",
        after(WEIGHS),
        'acid = "6 % to 4 %"',
        'acid = "6 % to 6 %"',
        'acid = "6 % to 100 %"',
    ),
    tried(
        "contains has something that is not a text",
        'Write it as in contains = ["soy", "wheat"]',
        after(WEIGHS),
        'contains = ["soya bean", 3]',
        'contains = ["soy", "wheat"]',
    ),
    tried(
        "'weat' is no allergen that we know",
        "Write wheat",
        after(WEIGHS),
        'contains = ["weat"]',
        'contains = ["wheat"]',
    ),
    # [plate]
    tried(
        "'sparrib' is no meat that we know",
        "Write spareribs",
        after(AMOUNT),
        PLATE.replace("spareribs", "sparrib"),
        PLATE,
    ),
    tried(
        "raw is 2000 kg",
        "It lies between 10 g and 1000 kg",
        after(AMOUNT),
        PLATE.replace("6 kg", "2000 kg"),
        PLATE.replace("6 kg", "10 g"),
        PLATE.replace("6 kg", "1000 kg"),
    ),
    tried(
        "serves is 0",
        "It lies between 0.1 and 10000",
        after(AMOUNT),
        PLATE.replace("12", "0"),
        PLATE.replace("12", "0.1"),
        PLATE.replace("12", "10000"),
    ),
    tried(
        "yield is 2 %",
        "It lies between 5 % and 100 %",
        after(AMOUNT),
        PLATE + 'yield = "2 %"',
        PLATE + 'yield = "5 %"',
        PLATE + 'yield = "100 %"',
    ),
    tried(
        "'110 %' is more than the whole",
        "Write a share between 0 % and 100 %",
        lambda text: whole(MIX + PLATE + f'stays = "{text}"'),
        "110 %",
        "0 %",
        "100 %",
    ),
    tried(
        "stays is 150 %",
        "It lies between 0 % and 100 %",
        lambda share: Plate("spareribs", 6.0, 12.0, stays=share),
        1.5,
        0.0,
        1.0,
    ),
    tried("nothing says what a spoonful of 'paprika' weighs", "Write its weight", unweighed, "2 tbsp", "20 g"),
]
