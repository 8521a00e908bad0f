"""A link as a QR code (ISO/IEC 18004) that a phone's camera reads."""

from __future__ import annotations

from io import BytesIO

__all__ = ["qr_picture"]


def qr_picture(link: str) -> str:
    """The code as an SVG, black on white with the quiet zone of four modules that the standard asks for."""
    import segno

    stream = BytesIO()
    segno.make(link, error="m", micro=False).save(
        stream, kind="svg", border=4, light="#ffffff", xmldecl=False, svgns=True, omitsize=True, nl=False
    )
    return stream.getvalue().decode("utf-8")
