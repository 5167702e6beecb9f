"""What an estimate takes from the sheets Start, Company and Prices: each number in a cell of its own, with a name."""

from dataclasses import dataclass

from basecalc.estimating.edition import Edition


@dataclass(frozen=True, slots=True)
class Taken:
    """A number or word taken from the owner's sheets."""

    name: str
    label: str
    unit: str
    formula: str


def taken_numbers(edition: Edition) -> tuple[tuple[str, tuple[Taken, ...]], ...]:
    """Return the blocks of numbers, each with its title."""
    return (
        ("From the job card (Start)", _job(edition)),
        ("From the settings (Company)", _settings(edition)),
        ("Stone and sand (Company)", _stones(edition)),
        ("Pavers (Company)", _pavers(edition)),
        ("Rolls (Company)", _rolls(edition)),
        ("Trucks (Company)", _trucks(edition)),
    )


def _job(edition: Edition) -> tuple[Taken, ...]:
    return (
        Taken("Season", "ground on the day", "", '=JobSeason&""'),
        Taken("UsualSoil", "soil where an area names none", "", '=JobSoil&""'),
        Taken("TrafficLine", "traffic", "", "=TRAFFIC_LEVEL(JobTraffic,OwnerTraffic)"),
        Taken(
            "LogLine",
            "cone logs",
            "",
            f'=CONE_LOG(LogRows,LogBlows,LogDepths,AreaNames,AreaSoils,UsualSoil,"{edition.units}")',
        ),
        Taken(
            "SiteLine",
            "readings",
            "",
            f'=SITE_READINGS(ReadingRows,AreaNames,AreaSoils,Season,UsualSoil,ClassDown,"{edition.units}",LogLine)',
        ),
        Taken(
            "DesignLine",
            "design settings",
            "",
            '=DESIGN_SETTINGS(OwnerSettings,PaverThickness,"' + edition.depth + '")',
        ),
        Taken(
            "TaskLine",
            "what each area is designed by",
            "",
            "=DESIGN_TASK(DesignLine,TrafficLine,ClassEdge,GridStability,GridReduction,GridReductionSource,"
            f'"{edition.depth}",JobWalked)',
        ),
    )


def _settings(edition: Edition) -> tuple[Taken, ...]:
    def setting(name: str, label: str, unit: str = "") -> Taken:
        return Taken(name, label, unit, f'=COMPANY_SETTING("{label}",OwnerSettings,"{unit}")')

    deep = edition.depth
    return (
        setting("CompanyUnits", "units on printed sheets"),
        setting("ClassDown", "dry or frozen fine soil one class down"),
        setting("ClassEdge", "design a class at its"),
        setting("UsualDepth", "your usual base depth", deep),
        setting("LeastReach", "least base beyond the edge", deep),
        setting("ThickestLift", "thickest lift", deep),
        setting("Bedding", "thickness of the bedding sand", deep),
        setting("JointSand", "joint sand", edition.joint_sand),
        setting("Contingency", "contingency on cost", "share"),
        setting("Overhead", "overhead on cost", "share"),
        setting("Profit", "profit as a share of the price", "share"),
        setting("SalesTax", "sales tax", "share"),
        setting("Deposit", "deposit at signing", "share"),
        setting("ValidDays", "quote is good for", "day"),
    )


def _value(name: str, label: str, table: str, item: str, column: str, unit: str = "") -> Taken:
    call = f'OWNER_VALUE({table},{item},"{column}","{unit}")'
    return Taken(name, label, unit, f'=IF({item}="none","none",{call})')


def _stones(edition: Edition) -> tuple[Taken, ...]:
    made: list[Taken] = []
    for use, name, job in (("base", "Stone", "JobStone"), ("bedding", "Sand", ""), ("fill", "Fill", "")):
        item = f"{name}Name"
        asked = f',{job}&""' if job else ""
        made += [
            Taken(
                item,
                {"base": "base stone", "bedding": "bedding sand", "fill": "granular fill"}[use],
                "",
                f'=OWNER_ITEM(OwnerStones,"{use}"{asked})',
            ),
            _value(f"{name}Density", "   loose density", "OwnerStones", item, "loose density", edition.density),
            _value(f"{name}Factor", "   loose for one compacted", "OwnerStones", item, "compaction factor"),
            _value(f"{name}Waste", "   waste", "OwnerStones", item, "waste", "share"),
            _value(f"{name}Code", "   price code", "OwnerStones", item, "price code"),
        ]
    return tuple(made)


def _pavers(edition: Edition) -> tuple[Taken, ...]:
    table, item = "OwnerPavers", "PaverName"
    return (
        Taken(item, "paver", "", '=OWNER_ITEM(OwnerPavers,"",JobPaver&"")'),
        _value("PaverThickness", "   thickness", table, item, "thickness", edition.depth),
        _value("PaverWaste", "   cutting waste", table, item, "cutting waste", "share"),
        _value("PaverCode", "   price code", table, item, "price code"),
    )


def _rolls(edition: Edition) -> tuple[Taken, ...]:
    made: list[Taken] = []
    for kind, name in (("geogrid", "Grid"), ("geotextile", "Textile")):
        item, table = f"{name}Name", "OwnerRolls"
        made += [
            Taken(item, kind, "", f'=OWNER_ITEM(OwnerRolls,"{kind}",Job{kind.capitalize()}&"")'),
            _value(f"{name}Length", "   roll length", table, item, "length", edition.length),
            _value(f"{name}Width", "   roll width", table, item, "width", edition.length),
            _value(f"{name}Overlap", "   overlap; none: by the ground", table, item, "overlap", edition.length),
            _value(f"{name}Code", "   price code", table, item, "price code"),
        ]
        if kind == "geogrid":
            made += [
                _value("GridStability", "   aperture stability", table, item, "aperture stability", "m-N/deg"),
                _value("GridReduction", "   documented reduction", table, item, "documented reduction", "share"),
                _value("GridReductionSource", "   its source", table, item, "source of the reduction"),
            ]
    return tuple(made)


def _trucks(edition: Edition) -> tuple[Taken, ...]:
    made: list[Taken] = []
    for use, name in (("spoil", "SpoilTruck"), ("stone", "StoneTruck")):
        words = "truck for soil" if use == "spoil" else "truck for stone"
        made += [
            Taken(name, words, "", f'=OWNER_ITEM(OwnerTrucks,"{use}",Job{name}&"")'),
            _value(f"{name}Payload", "   payload", "OwnerTrucks", name, "payload", edition.mass),
            _value(f"{name}Box", "   box", "OwnerTrucks", name, "box", edition.volume),
        ]
    return tuple(made)
