"""Patterns as textures that repeat, so that ground of any shape is patterned in one draw.

Rule 1: a tile is drawn from `ground.patterns` alone; a texture's corner is the plane's origin.
"""

from kivy.graphics.texture import Texture

from fieldapp.ground.patterns import Look, Pattern, tile
from fieldapp.ui.palette import rgba

#: Side of a tile; a power of two, so that every phone can repeat it. [texels]
TEXELS = 32


class Tiles:
    """The textures drawn so far."""

    def __init__(self) -> None:
        self._shares: dict[Pattern, tuple[tuple[float, ...], ...]] = {}
        self._made: dict[Look, Texture] = {}

    def of(self, look: Look) -> Texture:
        """Give the texture of a look whose pattern repeats."""
        if look not in self._made:
            self._made[look] = self._draw(look)
        return self._made[look]

    def _draw(self, look: Look) -> Texture:
        texture = Texture.create(size=(TEXELS, TEXELS), colorfmt="rgb", mipmap=True)
        texture.wrap = "repeat"
        texture.min_filter, texture.mag_filter = "linear_mipmap_linear", "linear"
        pixels = self._pixels(look)

        def fill(texture: Texture) -> None:
            texture.blit_buffer(pixels, colorfmt="rgb", bufferfmt="ubyte")
        fill(texture)
        texture.add_reload_observer(fill)
        return texture

    def _pixels(self, look: Look) -> bytes:
        if look.pattern not in self._shares:
            self._shares[look.pattern] = tile(look.pattern, TEXELS)
        fill, ink = rgba(look.fill)[:3], rgba(look.ink)[:3]
        return bytes(round(255 * (share * there + (1 - share) * here))
                     for row in self._shares[look.pattern] for share in row
                     for here, there in zip(fill, ink, strict=True))
