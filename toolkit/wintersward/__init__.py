"""Formal winter-cover trials on sports turf, from plan to report."""
