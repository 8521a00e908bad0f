"""The measuring room: a photograph of the printed test square tells what the printer did to the page.

Everything here is in millimetres, x to the right and y down, from the top left corner of the page as it
was drawn. The room imports nothing from ``tiling``; its heavy libraries load only when a photo is read.
"""
