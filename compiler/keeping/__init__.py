"""What a check found, kept for the next one."""
