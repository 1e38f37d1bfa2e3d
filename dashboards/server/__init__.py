"""The server of the pages: Voilà with our settings. Nothing is fetched from outside."""
