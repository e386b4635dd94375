"""Where the air will take the wood: equilibrium moisture content from temperature and humidity, and back."""

from math import isfinite

from stockyard.errors import Fault, OutOfRange

COLDEST_C, HOTTEST_C = -1.1, 132.2
DRIEST, DAMPEST = 0.05, 0.95
"""The range of the handbook's table, which was made from the equation. [°C, humidity 0..1]"""

ROOM_COLDEST_C, ROOM_HOTTEST_C = -20.0, 55.0
"""Beyond these no workshop or house stands; a figure outside is taken for Fahrenheit or a slip."""


def equilibrium_pct(temperature_c: float, humidity: float) -> float:
    """Equilibrium moisture content (EMC) of wood in air. [percent of ovendry mass]

    temperature_c: -1.1 to 132.2 °C. humidity: relative, 0.05 to 0.95.
    The second decimal means nothing for a real board: species differ, most of all above 85 %, and the
    equation runs midway between wetting and drying. Show whole or half points.
    Source: Wood Handbook, FPL-GTR-282 (2021) and FPL-GTR-190 (2010), equation (4-5), p. 4-3; the range is
    that of its Table 4-2. Raises OutOfRange.
    """
    faults = []
    if not (isfinite(temperature_c) and COLDEST_C <= temperature_c <= HOTTEST_C):
        faults.append(Fault("temperature", f"{COLDEST_C} to {HOTTEST_C} °C", f"{temperature_c:g} °C"))
    if not (isfinite(humidity) and DRIEST <= humidity <= DAMPEST):
        percent = " (a share, not percent)" if humidity > 1 else ""
        faults.append(Fault("humidity", f"{DRIEST:g} to {DAMPEST:g}{percent}", f"{humidity:g}"))
    if faults:
        raise OutOfRange("Equilibrium moisture content is published for a smaller range.", faults)
    return equation_4_5(temperature_c, humidity)


def equation_4_5(temperature_c: float, humidity: float) -> float:
    """The handbook's equation with its coefficients for °C, without its range. [percent]

    W = 349 + 1.29 T + 0.0135 T2; K = 0.805 + 0.000736 T - 0.00000273 T2;
    K1 = 6.27 - 0.00938 T - 0.000303 T2; K2 = 1.91 + 0.0407 T - 0.000293 T2;
    EMC = 1800/W [ Kh/(1 - Kh) + (K1 Kh + 2 K1 K2 (Kh)2) / (1 + K1 Kh + K1 K2 (Kh)2) ].
    Source: as `equilibrium_pct`. At h = 1 it still gives a number, which is no equilibrium.
    """
    t = temperature_c
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * humidity
    sorbed = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (kh / (1 - kh) + sorbed)


def humidity_for(temperature_c: float, emc_pct: float) -> float:
    """The relative humidity that holds wood at `emc_pct`. [0..1]

    temperature_c: -1.1 to 132.2 °C. emc_pct: within what 5 to 95 % humidity gives at that temperature.
    Found by halving: the equation rises with humidity all the way. Raises OutOfRange.
    """
    low, high = DRIEST, DAMPEST
    least, most = equilibrium_pct(temperature_c, low), equilibrium_pct(temperature_c, high)
    if not (isfinite(emc_pct) and least <= emc_pct <= most):
        raise OutOfRange(
            "No humidity from 5 to 95 % holds wood there.",
            [Fault("moisture content", f"{least:.1f} to {most:.1f} %", f"{emc_pct:g} %")],
        )
    for _ in range(60):
        middle = (low + high) / 2
        if equation_4_5(temperature_c, middle) < emc_pct:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def humidity_from_percent(percent: float, where: str = "humidity") -> float:
    """Relative humidity as a share, from the percentage an instrument shows. [0..1]

    percent: above 1, at most 100. 0.5 is refused and not read as half a percent: it is a share typed
    where a percentage belongs. Raises OutOfRange.
    """
    if isfinite(percent) and 1 < percent <= 100:
        return percent / 100
    hint = f" If that was a share, write {percent * 100:g}." if 0 < percent <= 1 else ""
    raise OutOfRange(
        f"The humidity is improbable.{hint}", [Fault(where, "more than 1 and at most 100 %", f"{percent:g}")]
    )


def room_temperature(celsius: float, where: str = "temperature") -> float:
    """A temperature of a workshop, a shed or a house, as given. [°C]

    Raises OutOfRange where it is improbable, with what it would be if it was Fahrenheit.
    """
    if isfinite(celsius) and ROOM_COLDEST_C <= celsius <= ROOM_HOTTEST_C:
        return celsius
    hint = ""
    if isfinite(celsius) and celsius > ROOM_HOTTEST_C:
        hint = f" If that was Fahrenheit, it is {(celsius - 32) / 1.8:.1f} °C."
    raise OutOfRange(
        f"The temperature is improbable.{hint}",
        [Fault(where, f"{ROOM_COLDEST_C:g} to {ROOM_HOTTEST_C:g} °C", f"{celsius:g}")],
    )
