"""Stage 7: the register as documents: JSON, CSV, GeoJSON, tables, ground sheets."""
