//! Convex hull and Feret diameters.
