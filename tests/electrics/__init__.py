"""Tests of the electrical half: constants, coils, banks, wires, magnets, and the commands over them."""
