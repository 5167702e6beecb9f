"""Plan areas: the outline of what is paved, before anything is dug."""
