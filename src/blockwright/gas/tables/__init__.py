"""Property tables of the working gases, made once with Cantera and shipped as data."""
