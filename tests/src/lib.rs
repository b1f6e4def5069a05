//! Outside checks live in `tests/tests`; this library holds what they share.
