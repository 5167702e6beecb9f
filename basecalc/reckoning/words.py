"""The words of a ticket: which quantity of the take-off, which stone of the owner, which work."""

from collections.abc import Mapping
from typing import Final

from basecalc.company import Company
from basecalc.takeoff.codes import codes

MATERIALS: Final = ("base-stone", "bedding-sand", "foundation-fill")
HAULS: Final = ("spoil-haul", "old-pavement-haul")
_USES: Final = {"base": "base-stone", "bedding": "bedding-sand", "fill": "foundation-fill"}
# What people write on tickets, beside the code and the title of a quantity.
_ALSO: Final[Mapping[str, tuple[str, ...]]] = {
    "base-stone": ("stone", "base", "crushed stone", "crushed base"),
    "bedding-sand": ("sand", "bedding"),
    "foundation-fill": ("fill", "foundation fill"),
    "spoil-haul": ("spoil", "soil", "dirt"),
    "old-pavement-haul": ("old pavement", "broken pavement"),
}
LEFT_OVER: Final[Mapping[str, bool]] = {
    "": False, "delivered": False, "in": False, "hauled": False, "out": False,
    "left over": True, "leftover": True, "returned": True, "brought back": True,
}  # fmt: skip


def plain(word: str) -> str:
    """Return a word as it is compared: lower case, single spaces.

    Examples
    --------
    >>> plain("  Left-Over ")
    'left over'
    """
    return " ".join(word.casefold().replace("-", " ").replace("_", " ").split())


def material_words(company: Company) -> dict[str, tuple[str, str]]:
    """Return the words for what a ticket brings or takes: each with its code and the owner's stone it names.

    Parameters
    ----------
    company
        The owner's settings; the names and price codes of stones are words too.

    Examples
    --------
    >>> from basecalc.company import company
    >>> given = {"name": "Any Paving", "overhead": 0.1, "profit": 0.1, "contingency": 0, "tax_rate": 0, "deposit": 0}
    >>> material_words(company(given))["sand"]
    ('bedding-sand', '')
    """
    words: dict[str, tuple[str, str]] = {}
    for code, also in _ALSO.items():
        for word in (code, codes()[code].title, *also):
            words[plain(word)] = (code, "")
    for stone in company.stones:
        for word in (stone.code, stone.name):
            if plain(word) not in words or word == stone.name:
                words[plain(word)] = (_USES[stone.kind], stone.name if word == stone.name else "")
    return words


def work_words() -> dict[str, str]:
    """Return the words for kinds of work, each with its code.

    Examples
    --------
    >>> work_words()["dig"]
    'dig'
    """
    known = {key: entry.title for key, entry in codes().items() if entry.kind == "work"}
    return {plain(word): key for key, title in known.items() for word in (key, title)}
