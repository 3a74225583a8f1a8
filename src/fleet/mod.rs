//! Tables to a typed, resolved fleet. Every value keeps its span.
