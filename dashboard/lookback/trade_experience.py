"""What cheesemakers usually put a look of the rind down to, in the air and in the make; pure.

All of it is common practice, no source, unless `published` names one. It is shown beside the evidence and never mixed
into it: no row here changes what a comparison says.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Air = Literal["usual", "possible", "weak", "warmth", "refused"]
PRACTICE = "Common practice, no source"


@dataclass(frozen=True, slots=True)
class Experience:
    """One look of the rind.

    Args:
        kind: the name of the rind note.
        air: "usual" or "possible" cause; "weak": published work ties the look to something else; "warmth": the
            temperature and not the damp; "refused": never a question of the cave's air.
        in_air, in_make: the usual cause in each, "" where none is told.
        published: "one published cause of this look is ..., others are ...", or "".
        source: of `published`.
    """

    kind: str
    air: Air
    in_air: str
    in_make: str
    published: str = ""
    source: str = ""

    @property
    def air_asked(self) -> bool:
        """Whether the air may be asked at all."""
        return self.air != "refused"


MARCELLINO = "Marcellino and Benson 2013, Microbiology Spectrum (abstract)"
EXPERIENCE: Mapping[str, Experience] = {
    row.kind: row
    for row in (
        Experience(
            "crack",
            "usual",
            "too dry, dry after damp, or a draught on one side",
            "curd that did not knit: too sour, too cold or pressed too late",
            "One published cause of this look is dry air: Parmigiano stores are kept above 80 % so that the crust does "
            "not crack (a maker's word, not a trial); others are as above.",
            "caseificio4madonne.it, Le stagionature",
        ),
        Experience("split", "possible", "dried too fast outside", "late gas, or curd that did not knit"),
        Experience("dry_edge", "usual", "too dry too early, strong moving air", "too much salt on the edges"),
        Experience(
            "wet_sticky",
            "usual",
            "damper than the rind, no moving air, or a cold wheel in warm air",
            "drained too little; too little salt",
        ),
        Experience("drip_marks", "usual", "a ceiling or shelf above, colder than the dew point", ""),
        Experience("weeping", "weak", "warm from the start", "drained or pressed too little, cut too large"),
        Experience(
            "slip_skin",
            "possible",
            "a surface too wet in the first days, then warm and damp: yeast and Geotrichum outgrow",
            "drained or dried too little; too much Geotrichum in the milk; too little salt",
        ),
        Experience(
            "toad_skin",
            "possible",
            "a surface too wet in the first days, then warm and damp",
            "drained or dried too little; too much Geotrichum in the milk",
        ),
        Experience(
            "runny",
            "possible",
            "wrapped too tight, warm, too little loss",
            "too much whey left, too young a curd, uneven salt",
            "One published cause of this look is too little loss: Camemberts that lost only 0.5 to 1 % in 23 days ran "
            "under the rind; others are in the make.",
            "Picque et al. 2011, Journal of Dairy Science, doi 10.3168/jds.2010-3373 (abstract)",
        ),
        Experience("soft_spot", "possible", "it lay wet on its board", "whey pockets; a bruise; uneven salt"),
        Experience(
            "bare_patch",
            "usual",
            "too dry for the mould, or it stuck to its board",
            "mould powder missed a patch; salt lay too thick",
            "One published cause of a damaged white rind is warm and wet air: 16 degrees C at 98 % on Camembert; "
            "others are as above.",
            "Leclercq-Perlat et al. 2012, Journal of Dairy Science, doi 10.3168/jds.2012-5368 (abstract)",
        ),
        Experience(
            "grey_rind",
            "possible",
            "too damp, or too dry for a washed rind",
            "too little salt",
            "One published cause of this look is care: farm Saint-Nectaire washed less often late in its ripening "
            "turns grey; others are as above.",
            "VetAgro Sup, course on farm Saint-Nectaire",
        ),
        Experience(
            "cat_hair",
            "possible",
            "damp and new, with the mould's spores in the room",
            "a wet surface, too little salt, a slow start of the white mould",
            "One published cause of this look is Mucor; it is a known problem fungus of mould-ripened cheese, and 1 % "
            "of salt took 46 % off its growth; others are as above.",
            f"{MARCELLINO}; growth of Mucor circinelloides on cheese agar (abstract)",
        ),
        Experience("white_film", "possible", "damp and still air", "yeasts from milk or brine; drained too little"),
        Experience("white_mould", "possible", "spores of a bloomy neighbour, damp", "mould powder carried on hands"),
        Experience(
            "blue_spots", "possible", "spores and damp; cracks give them a home", "a blue made the same day; too sour"
        ),
        Experience(
            "green_spots", "possible", "spores and damp; cracks give them a home", "cloths, boards or hands at the vat"
        ),
        Experience("black_spots", "usual", "long damp, wet boards, dripping", "boards or cloths that never dried"),
        Experience(
            "brown_powder",
            "possible",
            "old rinds, ammonia; mites carry it from one to the next",
            "",
            "One published cause of this look is Scopulariopsis, a known problem fungus of mould-ripened cheese; how "
            "it depends on the air was not read in a source.",
            MARCELLINO,
        ),
        Experience(
            "red_brown_spots",
            "weak",
            "",
            "milk and brine",
            "One published cause of this look is Epicoccum, a mould from milk and brine; others are yellow and red "
            "bacteria and rust. The room's air was not its cause there.",
            "International Journal of Food Microbiology 406:110401, 2023 (abstract)",
        ),
        Experience(
            "pink",
            "weak",
            "",
            "hot water and the pipes it stands in",
            "One published cause of this look is Thermus thermophilus from the hot water, in continental cheeses; "
            "others are annatto that was oxidised and coloured bacteria.",
            "note on Quigley et al. 2016, dairyscience.info",
        ),
        Experience(
            "yellow_red_spots",
            "weak",
            "damp keeps them wet",
            "milk or brine; cold with much salt",
            "One published cause of this look is micrococci, yeasts or Bacillus from milk or brine; others are as "
            "above.",
            "Microbiological risks of cheese color defects (abstract)",
        ),
        Experience("unknown_mould", "possible", "spores and damp", "cloths, boards, hands, a new culture"),
        Experience("mould_inside", "possible", "cracks that let air in", "gaps in the curd; pierced too early"),
        Experience(
            "mites",
            "weak",
            "no air that suits a natural rind keeps them away",
            "",
            "One published cause of mites is that they breed at 11 to 13 degrees C and 85 to 88 %, as in every cave "
            "for natural rinds; two days at 50 % made no difference on real Cabrales. Brush; drying is no cure.",
            "doi 10.1016/0022-474X(83)90040-1 and Experimental and Applied Acarology 41:243, 2007 (abstracts)",
        ),
        Experience("flies", "weak", "a door or screen left open", ""),
        Experience("gnawed", "weak", "a way in for mice", ""),
        Experience(
            "early_blown",
            "refused",
            "",
            "coliforms or yeasts in the first days: milk, hygiene, a culture that was slow",
        ),
        Experience(
            "late_blown",
            "warmth",
            "warmth: spores in the paste wake in a warm cave and sleep in a cold one",
            "butyric spores in the milk (silage, dirty udders); too little salt in the water of the paste",
            "One published cause of this look is butyric spores in the milk; warmth decides: a pressed cheese blew in "
            "all lots ripened at 13 degrees C and in none at 8; more salt helps, and winter milk had fewer spores.",
            "trials with Gouda slurry and Valtellina Casera (abstracts); Foods 12(9):1880, 2023, doi "
            "10.3390/foods12091880",
        ),
        Experience("swollen_bag", "weak", "warm", "gas from the paste: yeasts, coliforms, butyric spores"),
        Experience("bag_leaks", "possible", "a wheel that sweated under it", "a rough rind; wax too cold"),
        Experience("coat_peels", "possible", "damp under it, or coated on a cold, sweating wheel", "coated too wet"),
        Experience("ammonia", "usual", "warm, no fresh air, wrapped too tight", "over-ripe; too much Geotrichum"),
        Experience("butyric", "warmth", "warm for weeks", "butyric spores in the milk"),
        Experience("rotten", "possible", "wet and warm for long", "milk or brine gone off; too little salt"),
        Experience("bad_slime", "possible", "too wet, no moving air", "brine or wash gone off; too little salt"),
    )
}

AIR_WORDS: Mapping[Air, str] = {
    "usual": "The air is a usual cause",
    "possible": "Air or make",
    "weak": "The air is a weak suspect",
    "warmth": "Warmth, not damp",
    "refused": "Not the cave's air",
}
REFUSED = "This is not a question for the cave's air; it comes from {causes}."


def experience_of(kind: str) -> Experience | None:
    """What the trade says of a rind note; None for a word of the household's own."""
    return EXPERIENCE.get(kind)


def refused_as_air(kind: str) -> str:
    """Why a kind of note is never matched to the air, in a sentence; "" for one that may be."""
    row = EXPERIENCE.get(kind)
    return "" if row is None or row.air_asked else REFUSED.format(causes=row.in_make)
