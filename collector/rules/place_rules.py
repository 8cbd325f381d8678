"""Every rule about the air of a place, one row each; a new rule joins here."""

from collector.rules.cooler import COOLER_CHANGED
from collector.rules.dew import DEW_RULES
from collector.rules.drift import DRIFT_RULES
from collector.rules.leaving import LEAVING
from collector.rules.model import PlaceRule

PLACE_RULES: dict[str, PlaceRule] = {rule.name: rule for rule in (*DRIFT_RULES, LEAVING, *DEW_RULES, COOLER_CHANGED)}
