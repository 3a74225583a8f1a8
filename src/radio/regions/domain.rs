//! Regulatory domains: what a device was built for.

use super::{RegionCode, Table};
use std::fmt;

/// The rules that a module or receiver was built for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Domain {
    /// It can be set to any.
    Any,
    /// One country's, or Europe's.
    Of(RegionCode),
}

impl Domain {
    /// Reads `any` or a code.
    pub fn parse(text: &str) -> Option<Self> {
        if text == "any" { Some(Self::Any) } else { RegionCode::parse(text).map(Self::Of) }
    }
}

impl fmt::Display for Domain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Any => f.write_str("any"),
            Self::Of(code) => code.fmt(f),
        }
    }
}

/// Whether two domains are the same for the radio.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Agreement {
    /// One of them is any, they are equal, they share a table, or one's table accepts the other.
    Same,
    /// Two tables that do not accept each other.
    Different,
    /// Two codes of which at least one has no table: they may share their rules or not.
    NotKnown,
}

/// Compares the domains of two devices, or of a device and a region (`Domain::Of(region)`).
pub fn domains_agree(one: Domain, other: Domain) -> Agreement {
    let (Domain::Of(one), Domain::Of(other)) = (one, other) else { return Agreement::Same };
    if one == other {
        return Agreement::Same;
    }
    let (Some(first), Some(second)) = (Table::for_code(one), Table::for_code(other)) else {
        return Agreement::NotKnown;
    };
    let accepts = |table: &Table, code| {
        table.accepts.iter().any(|own| Table::for_code(*own).is_some_and(|of| of.codes.contains(&code)))
    };
    if std::ptr::eq(first, second) || accepts(first, other) || accepts(second, one) {
        Agreement::Same
    } else {
        Agreement::Different
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn which_domains_agree() {
        use Agreement::{Different, NotKnown, Same};
        for (one, other, should) in [
            ("any", "US", Same),
            ("any", "any", Same),
            ("US", "US", Same),
            ("KE", "KE", Same),
            ("EU", "DE", Same),
            ("FR", "DE", Same),
            ("NO", "EU", Same),
            ("EU", "GB", Same),
            ("GB", "IS", Same),
            ("EU", "US", Different),
            ("DE", "AU", Different),
            ("US", "CA", Different),
            ("KE", "EU", NotKnown),
            ("KE", "UG", NotKnown),
        ] {
            let (one, other) = (Domain::parse(one).unwrap(), Domain::parse(other).unwrap());
            assert_eq!(domains_agree(one, other), should, "{one} {other}");
            assert_eq!(domains_agree(other, one), should, "{other} {one}");
        }
        assert_eq!(Domain::parse("Any"), None);
        assert_eq!(Domain::parse("XX"), None);
    }
}
