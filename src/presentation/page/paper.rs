//! What can be printed: labels and the report.

use crate::presentation::report::label_cards;
use crate::questions::LabelsAnswer;
use crate::records::Colony;

/// The ways to paper.
pub fn paper() -> String {
    "<p class=\"buttons\"><a class=\"button\" href=\"/labels\">Labels</a>\
     <a class=\"button\" href=\"/report\">Report</a></p>\
     <p>Each opens as a page that prints on A4. The report is worked out anew and may take a \
     moment in a large colony.</p>"
        .to_owned()
}

/// What may be written on labels, as cards to cut out.
pub fn labels(colony: &Colony, answer: &LabelsAnswer) -> String {
    match label_cards(colony, answer) {
        Some(cards) => format!("<h2>To cut out</h2>{cards}"),
        None => "<p>Of none of these animals anything can be claimed: nothing is seen or \
                 suspected.</p>"
            .to_owned(),
    }
}
