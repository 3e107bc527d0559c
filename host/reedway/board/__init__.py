"""The host's end of the board: the line protocol, the virtual board, and the commands that use them."""
