"""Parts of data/build_library.py: sources in, screened and classed substances out."""
