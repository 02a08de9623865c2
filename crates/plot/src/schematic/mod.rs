//! Drawings of ladders.
