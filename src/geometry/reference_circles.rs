//! Reference circles of a roundness measurement (ISO 12181-1).
