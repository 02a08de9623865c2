//! Figures as SVG: axes, curves, bands, bars and circuit symbols. Knows units and nothing else.
