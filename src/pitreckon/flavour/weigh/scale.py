"""How much of a mix is wanted: for so many pieces, so much meat, so much surface, or so many batches."""

from pitreckon import catalog
from pitreckon.errors import InputError
from pitreckon.flavour.mix import Cover, Mix
from pitreckon.units import format_mass, shown


def factor_for(mix: Mix, wanted: Cover) -> float:
    """How many batches are wanted for so much [-]: straight in the amount, whatever it is counted in.

    Raises InputError: the mix does not say what a batch covers in that measure.
    """
    for cover in mix.covers:
        if cover.what == wanted.what:
            return wanted.value / cover.value
    known = ", ".join(covers_words(cover) for cover in mix.covers)
    measure = {"weight": "a weight of meat", "area": "an area"}.get(wanted.what, f"'{wanted.what}'")
    says = f"it says: {known}" if known else "it says nothing"
    raise InputError(
        f"'{mix.name}' does not say what a batch covers as {measure}; {says}",
        'Write it in the mix file, as in covers = ["2 racks", "2.5 kg", "0.4 m2"], or ask for batches',
    )


def covers_words(cover: Cover) -> str:
    """What a batch covers, as a cook reads it."""
    if cover.what == "weight":
        return format_mass(cover.value, "kg")
    if cover.what == "area":
        return f"{cover.value:.3g} m2"
    return f"{cover.value:.3g} {cover.what if cover.value == 1.0 else cover.what + 's'}"


def surface_m2(cut: str, pieces: float = 1.0, mass_kg: float | None = None, *, brushed: bool = False) -> float:
    """Surface that a mix goes on [m2]: all the outer faces of so many pieces of a cut.

    cut: catalog key; mass_kg: of one piece [kg]; None: as the cut usually comes; brushed: the upper faces alone

    The area grows with the 2/3 power of the weight, as the model scales a piece.

    Raises InputError: no such cut.
    """
    from pitreckon.section import material  # noqa: PLC0415  the model is loaded only where a surface is asked for
    from pitreckon.section.shapes import UPPER  # noqa: PLC0415

    known = catalog.cuts()
    if cut not in known:
        raise InputError(f"{shown(cut)} is no cut that we know", "'pitreckon cuts' lists all")
    each = known[cut]
    section = material.section_of(each)
    faces = section.outer_area[section.outer_group == UPPER] if brushed else section.outer_area
    per_kg = float(faces.sum()) / material.raw_mass_of(each, section)
    usual = each.shape.mass_kg.value
    mass = usual if mass_kg is None else mass_kg
    return pieces * per_kg * mass / each.scale(mass)
