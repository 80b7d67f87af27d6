//! Addresses of the pages.

use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};

use crate::records::{AnimalId, ClutchId, Colony, GeneId, Origin};

/// Text as it may stand in an address.
pub fn coded(text: &str) -> String {
    utf8_percent_encode(text, &CODED).to_string()
}

/// All but what is never coded (RFC 3986, section 2.3).
const CODED: AsciiSet = NON_ALPHANUMERIC.remove(b'-').remove(b'.').remove(b'_').remove(b'~');

/// The page of an animal; a hatchling without an id is shown with its clutch.
pub fn animal(colony: &Colony, id: AnimalId) -> String {
    let animal = colony.animal(id);
    match (&animal.id, animal.origin) {
        (Some(id), _) => format!("/animal?id={}", coded(id)),
        (None, Origin::Clutch(of)) => clutch(colony, of),
        (None, Origin::Founder) => "/animals".to_owned(),
    }
}

/// The page of a clutch.
pub fn clutch(colony: &Colony, id: ClutchId) -> String {
    format!("/clutch?id={}", coded(&colony.clutch(id).id))
}

/// The page of a suspected gene.
pub fn gene(colony: &Colony, id: GeneId) -> String {
    format!("/gene?name={}", coded(&colony.gene(id).name))
}

#[cfg(test)]
mod tests {
    use super::coded;

    #[test]
    fn an_address_holds_nothing_that_ends_it() {
        assert_eq!(coded("2024-A 1/ë&=?#"), "2024-A%201%2F%C3%AB%26%3D%3F%23");
    }
}
