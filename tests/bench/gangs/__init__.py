"""Made-up gangs that pick a block of whole cells for years, every phone keeping its track."""
