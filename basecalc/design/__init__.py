"""The base: traffic and settings, the checks that each give a depth, and the depth that the greatest asks for."""
