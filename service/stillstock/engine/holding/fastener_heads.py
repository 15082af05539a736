"""How far bolt heads, nuts, knobs and handles stand up, and how far they reach out when they are turned."""

__all__ = ["HANDLE_SIZES", "NOMINAL", "head_height", "head_radius"]

#: Height above the arm, bolt's end included, and radius that it sweeps when turned, by what the bolt is turned with;
#: common practice, no source. [m, m]
HANDLE_SIZES = {
    "round_knob": (0.025, 0.016),
    "star_knob": (0.030, 0.025),
    "lever_handle": (0.045, 0.065),
    "hex_key": (0.010, 0.009),
}

#: Nominal diameter by the word that a shop uses; ISO 261 and ASME B1.1 (from memory). [m]
NOMINAL = {
    "M4": 0.004,
    "M5": 0.005,
    "M6": 0.006,
    "M8": 0.008,
    "M10": 0.010,
    "M12": 0.012,
    "1/4": 0.00635,
    "5/16": 0.0079375,
    "3/8": 0.009525,
}


def head_height(bolt: str) -> float:
    """Return the height of a socket-head cap screw's head, which is its nominal diameter; ISO 4762, k. [m]

    From memory.
    """
    return NOMINAL[bolt]


def head_radius(bolt: str) -> float:
    """Return half the diameter of its head, at most 0.9 of the nominal diameter; ISO 4762, d_k (from memory). [m]"""
    return 0.9 * NOMINAL[bolt]
