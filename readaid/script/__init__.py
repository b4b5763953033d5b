"""Script and language: kana and letters, spelling, morae, verse forms, romanisation, kanji forms; dates and signatures.

Nothing is loaded here: import the module you need (``from readaid.script import morae``). Linguistic tables are
TSV files in ``tables/`` beside their loaders, each with its source in the header.
"""
