"""What every page uses: entries, charts, tables, messages, addresses, files."""
