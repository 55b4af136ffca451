"""How much the corals take up, estimated from tests and from what went in."""
