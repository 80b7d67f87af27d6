//! `labels` as JSON.

use serde_json::{Value, json};

use super::json::{Envelope, enveloped};
use super::{cautions, labels_text, names};
use crate::questions::{Claim, Copies, Label, LabelsAnswer, Subject};
use crate::records::Colony;

/// `labels --json`: every label, also of what nothing can be claimed.
pub fn labels(colony: &Colony, answer: &LabelsAnswer) -> String {
    let labels: Vec<Value> = answer.labels.iter().map(|label| one(colony, label)).collect();
    let envelope = Envelope {
        method: answer.method,
        log_evidence: answer.log_evidence,
        assumptions: &answer.assumptions,
        warnings: &answer.warnings,
        surprise: answer.surprise.as_ref(),
        divided: &answer.divided,
    };
    let body = json!({
        "level": answer.level,
        "labels": labels,
        "cautions": cautions::values(colony, &answer.cautions),
    });
    enveloped(colony, &envelope, body)
}

fn one(colony: &Colony, label: &Label) -> Value {
    json!({
        "animal": names::animal(colony, label.animal),
        "gene": colony.gene(label.gene).name,
        "subject": subject(colony, label),
        "claim": claim(label.claim),
        "text": labels_text::line(colony, label),
        "customary": labels_text::customary(colony, label),
        "probability": label.probability,
        "ground": labels_text::ground(colony, label),
    })
}

/// What `probability` is the chance of.
fn subject(colony: &Colony, label: &Label) -> String {
    let gene = colony.gene(label.gene);
    match label.subject {
        Subject::Look(class) => format!("is {}", gene.look_name(class)),
        Subject::Copies { allele, copies: Copies::Any } => {
            format!("carries {}", gene.allele_name(allele))
        }
        Subject::Copies { allele, copies: Copies::Two } => {
            format!("has two copies of {}", gene.allele_name(allele))
        }
    }
}

fn claim(claim: Claim) -> &'static str {
    match claim {
        Claim::Shows => "visual",
        Claim::MayShow => "uncertain call",
        Claim::Proven { .. } => "proven",
        Claim::ByDescent => "by descent",
        Claim::AsTold => "as sold",
        Claim::Possible => "possible",
        Claim::TestBred { .. } => "test-bred",
        Claim::Nothing => "none",
        Claim::NotKnown { .. } => "inheritance unknown",
    }
}
