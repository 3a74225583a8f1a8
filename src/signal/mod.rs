//! The signal path and the query over all reachable states. Pure: no reporting, no I/O.
