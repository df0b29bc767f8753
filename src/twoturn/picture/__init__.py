"""Pictures as SVG text: the drive, the pointer, spectra, cam edges and requirement bands; our own design."""
