"""Sensor captures: reading a file, finding the crankshaft's wheel, cam edges in crank degrees, and comparing them."""
