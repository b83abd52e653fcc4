"""The canonical form of a plan's text: `canonical.canonical` gives it."""
