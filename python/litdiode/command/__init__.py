"""The command line, `python -m litdiode`.

options ─▶ reading: files to a study ─▶ outputs: tables, verdicts, pictures, report, CSV, JSON
"""
