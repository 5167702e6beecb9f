"""What a job says: the client, what was read where, and the areas to pave."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any, Literal

from basecalc.core.numbers import brief
from basecalc.design.frost import FrostSoil
from basecalc.design.frost_depth import Climate
from basecalc.ground.classes import Strength
from basecalc.ground.cone_log import Design
from basecalc.ground.old_pavement import Pavement
from basecalc.ground.readings import Reading


@dataclass(frozen=True, slots=True)
class Spot:
    """One place where the ground was read."""

    name: str
    area: str
    readings: tuple[Reading, ...]
    log: str = ""
    drops: tuple[Design, ...] = ()
    log_notes: tuple[str, ...] = ()
    log_text: str = field(default="", repr=False)
    base_bottom_m: float | None = None


@dataclass(frozen=True, slots=True)
class LooseFill:
    """Loose fill below an area, and what is done with it."""

    depth_m: float
    way: Literal["stone", "fill"] = "stone"
    sound: Strength | None = None
    offered: bool = False


@dataclass(frozen=True, slots=True)
class JobArea:
    """One area to pave, of one strength and one depth."""

    name: str
    shape: str
    area_m2: float
    perimeter_m: float | None
    open_edge_m: float
    corners: float
    extent_m: tuple[float, float]
    finish_above_ground_m: float = 0.0
    soil: str = "earth"
    old_pavement_m: float = 0.0
    old_pavement_kind: str = ""
    keep_old_base: bool = False
    foundation_edge_m: float = 0.0
    foundation_fill_depth_m: float = 0.0
    foundation_fill_width_m: float = 0.0
    edge_restraint_m: float = 0.0
    geotextile: bool = False
    strength: Strength | None = None
    note: str = ""
    water_table_m: float | None = None
    frost: FrostSoil | None = None
    pavement: Pavement | None = None
    strip_of: str = ""
    loose_fill: LooseFill | None = None
    footing_m: float | None = None
    fall_m: tuple[float, float] | None = None
    walked: bool = False
    fill_looked_for: bool = False
    outline: tuple[tuple[float, float], ...] = field(default=(), repr=False)


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture of the job, and the words under it."""

    file: str
    caption: str = ""


@dataclass(frozen=True, slots=True)
class ExtraLine:
    """What else the job costs: a permit, a drain, a border; priced here, or by a row of the owner's price list.

    `sense` is 'cost' where the unit price is what it costs the owner and is marked up, 'price' where the client pays
    just that. `scope` is what the client reads beside it. Without a quantity it is one lump.
    """

    item: str
    code: str = ""
    quantity: float | None = None
    unit: str = ""
    unit_price: Decimal | None = None
    scope: str = ""
    taxable: bool | None = None
    area: str = ""
    sense: Literal["cost", "price"] = "cost"


@dataclass(frozen=True, slots=True)
class Job:
    """Everything the site visit and the client decide.

    Parameters
    ----------
    number
        The quote number; it starts the names of the files written.
    client, client_phone, site, prepared_by, notes
        As printed on the papers.
    date
        Day of the quote, from which its validity counts; None where the file gives none.
    units
        ``us`` or ``metric``: how the job is read and printed.
    traffic
        Name of the traffic level.
    season
        How wet the ground was on the day; readings that say nothing themselves take it.
    new_build
        Whether the plot is freshly built on.
    offer
        Which option the client is offered: ``stone``, ``geogrid`` or ``cheaper``.
    stone, paver, geogrid, geotextile, spoil_truck, stone_truck
        Names of the owner's materials and trucks; nothing for the first on the owner's sheet.
    areas, spots
        What is paved and where the ground was read.
    source_path
        The file it was read from; nothing where there is none.
    climate
        The design winter of the place; None where frost depth is not asked.
    start
        First day of work, from which the days of the stone order count; None where it is not known yet.
    stone_trucks_on_base
        Whether the loaded stone trucks drive on the base, which must then bear them; None where they may wherever it
        does so anyhow.
    lines
        What else the job costs, line by line.
    paver_color, paver_pattern
        As printed on the papers.
    photos
        Pictures for the client's paper, beside the job file.
    entered
        The tables it was read from, as they were given; None where it was not read.
    """

    number: str
    client: str
    site: str
    date: date | None
    prepared_by: str
    units: Literal["us", "metric"]
    traffic: str
    season: str
    new_build: bool
    offer: Literal["stone", "geogrid", "cheaper"]
    stone: str
    paver: str
    geogrid: str
    geotextile: str
    spoil_truck: str
    stone_truck: str
    areas: tuple[JobArea, ...]
    spots: tuple[Spot, ...]
    notes: tuple[str, ...] = ()
    source_path: str = ""
    climate: Climate | None = None
    start: dt.date | None = None
    stone_trucks_on_base: bool | None = None
    lines: tuple[ExtraLine, ...] = ()
    client_phone: str = ""
    paver_color: str = ""
    paver_pattern: str = ""
    photos: tuple[Photo, ...] = ()
    entered: Mapping[str, Any] | None = field(default=None, repr=False, compare=False)

    __repr__ = brief

    def place(self, area: str = "") -> str:
        """Return the place of the job, or of one of its areas, for a refusal: its file, else its number."""
        own = self.source_path or f"job {self.number}"
        return f'{own}, area "{area}"' if area else own

    def spots_of(self, area: str) -> tuple[Spot, ...]:
        """Return the spots that were read for an area."""
        return tuple(spot for spot in self.spots if spot.area == area)
