//! `labels` as a sheet, for those who print cards from one.

use super::{labels_text, names};
use crate::questions::{Label, LabelsAnswer};
use crate::records::Colony;
use crate::records::sheet::inert;

/// One row for each label worth a line, under a heading; the chance in full.
pub fn labels_csv(colony: &Colony, answer: &LabelsAnswer) -> String {
    let mut sheet = csv::Writer::from_writer(Vec::new());
    let heading = ["animal", "gene", "text", "customary", "probability", "ground"];
    let rows = answer.labels.iter().filter(|label| label.told).map(|label| row(colony, label));
    // A writer into memory does not fail.
    let written = sheet
        .write_record(heading)
        .and_then(|()| rows.into_iter().try_for_each(|row| sheet.write_record(row)));
    debug_assert!(written.is_ok());
    let bytes = sheet.into_inner().unwrap_or_default();
    String::from_utf8_lossy(&bytes).into_owned()
}

fn row(colony: &Colony, label: &Label) -> [String; 6] {
    let probability = label.probability.map_or(String::new(), |chance| chance.to_string());
    [
        inert(&names::animal(colony, label.animal)),
        inert(&colony.gene(label.gene).name),
        inert(&labels_text::card(colony, label)),
        inert(&labels_text::customary(colony, label)),
        probability,
        inert(&labels_text::ground(colony, label)),
    ]
}
