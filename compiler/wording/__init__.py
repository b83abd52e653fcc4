"""What the words of a plan's texts say, judged against lists of words that vocabularies declare."""
