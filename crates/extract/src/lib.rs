//! From measured curves and datasheet points to models of `tidewall-devices`, with their uncertainty.
