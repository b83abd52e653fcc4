"""The language: `jackstay.lark` is the grammar that runs, `README.md` the reference."""
