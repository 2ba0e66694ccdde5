"""Proof: reads printed, scanned and photographed sheets back, and measures them.

Pictures come in by `raster`, symbols are read by `decode` and, where dirt hides them, by `rescue`; `measure`
turns corners and grey levels into figures and `compare` holds what was read against what should be there.

Nothing is imported here: numpy, the PDF renderer and the decoder load only when a picture is read.
"""
