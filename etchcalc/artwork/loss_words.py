"""What the undercut can lose of a drawing, in words; one of a kind, and several."""

LINE, COUNTER, APART = "line vanishes", "counter closes", "line comes apart"
LAND, ISLAND, THROUGH = "land breaks through", "island floats off", "lines run together"
POINTED = "point is blunted"
SEVERAL = {
    LINE: "lines vanish",
    COUNTER: "counters close",
    APART: "lines come apart",
    LAND: "lands break through",
    ISLAND: "islands float off",
    THROUGH: "places where lines run together",
    POINTED: "points are blunted",
}
