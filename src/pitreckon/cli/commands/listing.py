"""``pitreckon cuts``, ``pits`` and ``wraps``: the catalog on the screen."""

from pitreckon.cli.options import Json, Shown


def cuts(degrees: Shown = "F", as_json: Json = False) -> None:
    """List the cuts of the catalog, yours included."""
    from pitreckon.cli import listing

    listing.cuts(degrees, as_json=as_json)


def pits(degrees: Shown = "F", as_json: Json = False) -> None:
    """List the kinds of pit of the catalog, yours included."""
    from pitreckon.cli import listing

    listing.pits(degrees, as_json=as_json)


def wraps(as_json: Json = False) -> None:
    """List the wraps of the catalog, yours included."""
    from pitreckon.cli import listing

    listing.wraps(as_json=as_json)
