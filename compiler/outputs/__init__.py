"""What a plan is turned into for people: diagrams, timelines, checklists and lists. Pure functions of it."""
