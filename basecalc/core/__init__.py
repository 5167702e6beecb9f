"""What every room rests on: refusals, numbers, units, files, published tables."""
