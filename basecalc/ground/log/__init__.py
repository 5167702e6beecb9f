"""A cone penetrometer's log: read and checked row by row, split into layers, and the bearing ratio to design for."""
