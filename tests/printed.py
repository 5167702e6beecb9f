"""Classes, traffic and units as they are printed, for tests to compare with; the package is asked for none of them."""

from dataclasses import replace

from basecalc import traffic

CLASSES = ("very soft", "soft", "medium", "stiff", "very stiff", "hard")
# CBR at which each class begins and ends: TM-5-818-1, Table 2-2, with cu = qu/2 = 30 kPa x CBR; [computed].
WEAK_EDGES = dict(zip(CLASSES, (0.0, 0.4, 0.8, 1.6, 3.2, 6.4), strict=True))
STRONG_EDGES = dict(zip(CLASSES, (0.4, 0.8, 1.6, 3.2, 6.4, float("inf")), strict=True))
LEVELS = ("light", "delivery", "heavy")
# International yard and pound agreement of 1959; standard gravity.
INCH_M, FOOT_M, POUND_KG = 0.0254, 0.3048, 0.45359237
FOOT2_M2, YARD3_M3, SHORT_TON_KG = FOOT_M**2, (3 * FOOT_M) ** 3, 2000 * POUND_KG
PSI_KPA = POUND_KG * 9.80665 / INCH_M**2 / 1000
TSF_KPA = SHORT_TON_KG * 9.80665 / FOOT2_M2 / 1000


def rank(word):
    """Return how many classes are weaker."""
    return CLASSES.index(word)


def weaker_by(word, steps):
    """Return the class so many steps weaker."""
    return CLASSES[max(rank(word) - steps, 0)]


def weak_edge(word):
    """Return the CBR at which a class begins."""
    return WEAK_EDGES[word]


def strong_edge(word):
    """Return the CBR at which a class ends."""
    return STRONG_EDGES[word]


def class_of_cbr(cbr):
    """Return the class of a CBR, float noise apart; one on a boundary belongs to the weaker."""
    return next(word for word in CLASSES if float(f"{cbr:.9g}") <= STRONG_EDGES[word])


def own_traffic(name="own", wheel_load_kn=40, tire_kpa=550, passes=1000, rut_mm=75, esal=15000):
    """Return a traffic level of the test's own."""
    return replace(
        traffic("light"), name=name, wheel_load_kn=wheel_load_kn, tire_kpa=tire_kpa, passes=passes, rut_mm=rut_mm,
        esal=esal, meaning="",
    )  # fmt: skip
