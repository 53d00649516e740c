"""One module per overpressure cause, named as its notebook is."""
