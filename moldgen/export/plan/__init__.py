"""Plans at 1:1 as SVG, DXF, PDF and PNG."""
