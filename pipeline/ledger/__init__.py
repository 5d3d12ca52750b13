"""One file to ask questions across recordings: a DuckDB database (the extra `ledger`).

schema    its tables and answers          pages   the rows of one findings folder
database  opened, added to, read          export  CSV, Parquet, the terminal
"""
