"""placeholder"""
from __future__ import annotations


def free_name(name, taken):
    while name in taken: name+='-sheet'
    taken.add(name)
    return name
def campaign(world, views, frame, styles, taken):
    return {}
