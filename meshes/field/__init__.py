"""Signed distance fields of the parts of a head, millimetres, in the sculptor's frame (see base.py)."""
