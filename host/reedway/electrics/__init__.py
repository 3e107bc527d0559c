"""Will coils, supplies, wires and magnets do it? Arithmetic with published constants."""
