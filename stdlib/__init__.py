"""The vocabularies that come with Jackstay, written in the language itself."""
