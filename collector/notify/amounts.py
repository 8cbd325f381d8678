"""Values of a quantity as the household reads them; pure."""

from collector.notify.household import Household, difference, number, temperature

TEMPERATURES = ("temperature", "surface_temperature")


def amount(value: float, quantity: str, unit: str, household: Household) -> str:
    """A value in its canonical unit; quantity or unit may be "", then it is a bare number."""
    if quantity in TEMPERATURES or unit == "Cel":
        return temperature(value, household)
    if quantity == "humidity" or unit == "%RH":
        return f"{number(value, 0)} %"
    if quantity == "battery" or unit == "%EL":
        return f"{number(value, 0)} %"
    return f"{number(value, 1 if quantity != 'battery_voltage' else 2)} {unit}".strip()


def step(value: float, quantity: str, unit: str, household: Household) -> str:
    """A difference between two values in their canonical unit."""
    if quantity in TEMPERATURES or unit in ("Cel", "K"):
        return difference(value, household)
    return f"{number(value, 1)} {'%' if unit == '%RH' or quantity == 'humidity' else unit}".strip()
