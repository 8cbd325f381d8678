"""What a person sees on a rind, in the trade's words, one row each; a person can add their own.

`comes_from` says where such a look is said to come from: "air", "vat", "both", "never_air" (published work ties it to
milk, brine or water, so it is never matched to the air) or "temperature" (matched to warmth, not to humidity).
`calls_for` is what is usually done: "watch", "brush" (brush or wipe, then watch), "mend", "hygiene" (the round stops
being gentle: clean, keep apart, see the cautions) or "discard". Common practice where no source stands beside a row.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RindKind:
    """One kind of rind note.

    Args:
        name: as it stands in the book; never changed once released.
        word: what a person reads.
        comes_from: "air", "vat", "both", "never_air" or "temperature".
        calls_for: "watch", "brush", "mend", "hygiene" or "discard".
        source: where the row's claim was read, or "" for common practice.
        growth: whether it is a mould: on a soft white rind another one calls for throwing away.
    """

    name: str
    word: str
    comes_from: str = "both"
    calls_for: str = "watch"
    source: str = ""
    growth: bool = False


COMES_FROM = ("air", "vat", "both", "never_air", "temperature")
CALLS_FOR = ("watch", "brush", "mend", "hygiene", "discard")

RIND_KINDS: dict[str, RindKind] = {
    row.name: row
    for row in (
        RindKind("crack", "crack", "air", "mend"),
        RindKind("split", "split open", "both", "mend"),
        RindKind("dry_edge", "hard, dry edge", "air"),
        RindKind("wet_sticky", "wet or sticky", "air", "brush"),
        RindKind("drip_marks", "drip marks", "air", "brush"),
        RindKind("weeping", "weeping whey", "vat"),
        RindKind("slip_skin", "slip skin", "both"),
        RindKind("toad_skin", "toad skin", "both"),
        RindKind("runny", "runny under the rind", "both"),
        RindKind("soft_spot", "soft spot"),
        RindKind("bare_patch", "bare patch", "air"),
        RindKind("grey_rind", "grey, dull rind", "both"),
        RindKind(
            "cat_hair",
            "cat hair (grey and hairy)",
            "both",
            "brush",
            "Marcellino and Benson 2013, Microbiol. Spectrum: a problem fungus of mould-ripened cheese",
            growth=True,
        ),
        RindKind("white_film", "white film", "both", "brush"),
        RindKind("white_mould", "white mould where none belongs", "both", "brush", growth=True),
        RindKind("blue_spots", "blue spots", "both", "brush", growth=True),
        RindKind("green_spots", "green spots", "both", "brush", growth=True),
        RindKind("black_spots", "black spots", "air", "brush", growth=True),
        RindKind(
            "brown_powder",
            "brown powder",
            "both",
            "brush",
            "Marcellino and Benson 2013, Microbiol. Spectrum: a problem fungus of mould-ripened cheese",
            growth=True,
        ),
        RindKind(
            "red_brown_spots",
            "reddish-brown spots",
            "never_air",
            "brush",
            "Int. J. Food Microbiol. 406:110401 (2023): Epicoccum species, from milk and brine",
            growth=True,
        ),
        RindKind(
            "pink",
            "pink under the rind",
            "never_air",
            "watch",
            "note on Quigley et al. 2016: Thermus thermophilus, a hot water bacterium",
        ),
        RindKind(
            "yellow_red_spots",
            "yellow or red spots",
            "vat",
            "brush",
            "Microbiological risks of cheese color defects: micrococci, yeast, Bacillus from milk or brine",
            growth=True,
        ),
        RindKind("unknown_mould", "a mould nobody knows", "both", "hygiene"),
        RindKind("mould_inside", "mould in the paste where none belongs", "both", "discard"),
        RindKind("mites", "mites (grey-brown dust, pits)", "both", "brush"),
        RindKind("flies", "flies or maggots", "both", "discard"),
        RindKind("gnawed", "gnawed", "both", "discard"),
        RindKind("early_blown", "blown in the first days", "never_air", "hygiene"),
        RindKind(
            "late_blown",
            "swollen late, gas",
            "temperature",
            "hygiene",
            "Valtellina Casera trial: all lots blew at 13 degC, none at 8 degC",
        ),
        RindKind("swollen_bag", "bag swollen", "vat", "discard"),
        RindKind("bag_leaks", "bag or wax leaks", "both", "mend"),
        RindKind("coat_peels", "coat or cloth comes off", "both", "mend"),
        RindKind("ammonia", "smells of ammonia", "air", "watch"),
        RindKind("butyric", "smells of butyric acid (rancid butter, vomit)", "vat", "discard"),
        RindKind("rotten", "smells rotten", "both", "discard"),
        RindKind("bad_slime", "slime that smells off", "both", "discard"),
    )
}
