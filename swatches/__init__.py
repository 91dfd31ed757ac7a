"""Cloth: from photos of swatches and remnants to fabrics with colour, scale and properties.

The ground floor of the house. Units, errors, jobs and photo reading live here because garments use them too.
"""
