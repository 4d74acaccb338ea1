"""Stage 2: ground as numbers; the only place that knows shapely and pyproj."""
