"""How slip, play and a curve are told apart; common practice, no source."""

SLIP_OR_CURVE = (
    "Toe that a side load changes and that does not come back is slip: a clamp, mount or joint "
    "moves. Toe that comes back, but differs between up and down, is play. Toe that follows the "
    "travel alike both ways is a curve, and so is static toe that drifts with ride height: "
    "it is back when the height is."
)
