//! Text to flat tables with spans and problems. Never fails, never loses a byte.
