//! Answers as JSON, schema 1; numbers are never rounded.

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

pub use super::genotypes_json::{genotypes, genotypes_in_pieces};
use super::{doubts, names};
use crate::questions::{
    ClutchFit, ConflictsAnswer, Divided, IdentifyAnswer, LabelsAnswer, Method, Slip,
};
use crate::records::{AnimalId, Assumptions, Colony, Count, Notice, Origin};

pub(super) struct Named<'a>(pub(super) &'a Assumptions);

impl Serialize for Named<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(Assumptions::KEYS.len()))?;
        for key in Assumptions::KEYS {
            map.serialize_entry(key, &self.0.get(key))?;
        }
        map.end()
    }
}

#[derive(Serialize)]
struct Answer<'a, Body: Serialize> {
    schema: u32,
    method: &'static str,
    log_evidence: f64,
    assumptions: Named<'a>,
    warnings: Vec<String>,
    #[serde(flatten)]
    body: Body,
}

#[derive(Serialize)]
struct IdentifyBody<'a> {
    hatchlings: Vec<HatchlingEntry<'a>>,
}

#[derive(Serialize)]
struct HatchlingEntry<'a> {
    id: &'a str,
    shared: Vec<&'a str>,
    identities: Vec<serde_json::Value>,
    rest: f64,
}

/// `identify --json`.
pub fn identify(colony: &Colony, answer: &IdentifyAnswer) -> String {
    let identity = |one: &crate::questions::Identity| {
        let mut genotype = serde_json::Map::new();
        for (gene, chances) in &one.genotype {
            let by_name = chances.iter().map(|(g, chance)| {
                (names::genotype(colony, *gene, *g), serde_json::Value::from(*chance))
            });
            genotype.insert(
                colony.gene(*gene).name.clone(),
                by_name.collect::<serde_json::Map<_, _>>().into(),
            );
        }
        serde_json::json!({
            "looks": names::looks(colony, &one.looks),
            "genotype": genotype,
            "probability": one.probability,
        })
    };
    let entry = |one: &'_ crate::questions::HatchlingAnswer| HatchlingEntry {
        id: colony.animal(one.animal).id.as_deref().unwrap_or_default(),
        shared: Vec::new(),
        identities: one.identities.iter().map(identity).collect(),
        rest: one.rest,
    };
    let hatchlings = answer.hatchlings.iter().map(|one| {
        let mut made = entry(one);
        made.shared = one.shared.iter().map(|gene| colony.gene(*gene).name.as_str()).collect();
        made
    });
    let of = Envelope {
        method: answer.method,
        log_evidence: answer.log_evidence,
        assumptions: &answer.assumptions,
        warnings: &answer.warnings,
        surprise: answer.surprise.as_ref(),
        divided: &answer.divided,
    };
    enveloped(colony, &of, IdentifyBody { hatchlings: hatchlings.collect() })
}

/// What every answer says of itself.
pub(super) struct Envelope<'a> {
    pub(super) method: Method,
    pub(super) log_evidence: f64,
    pub(super) assumptions: &'a Assumptions,
    pub(super) warnings: &'a [String],
    pub(super) surprise: Option<&'a ClutchFit>,
    pub(super) divided: &'a [Divided],
}

/// An answer with what it says of itself.
pub(super) fn enveloped(colony: &Colony, of: &Envelope<'_>, body: impl Serialize) -> String {
    write(&Answer {
        schema: 1,
        method: method(of.method),
        log_evidence: of.log_evidence,
        assumptions: Named(of.assumptions),
        warnings: doubts::warnings(colony, of.warnings, of.surprise, of.divided),
        body,
    })
}

/// `labels --json`.
pub fn labels(colony: &Colony, answer: &LabelsAnswer) -> String {
    super::labels_json::labels(colony, answer)
}

/// `conflicts --json`.
pub fn conflicts(colony: &Colony, answer: &ConflictsAnswer) -> String {
    let id = |animal: Option<AnimalId>| animal.map(|id| names::animal(colony, id));
    let one = |slip: &Slip| {
        serde_json::json!({
            "kind": super::conflicts_text::kind(slip.kind),
            "animal": id(slip.animal),
            "clutch": slip.clutch.map(|clutch| colony.clutch(clutch).id.clone()),
            "gene": slip.gene.map(|gene| colony.gene(gene).name.clone()),
            "probability": slip.probability,
            "gain": slip.gain,
            "check": super::conflicts_text::check(colony, slip),
            "rank": slip.rank,
            "line": slip.place.line,
        })
    };
    let with_partner = |slip: &Slip| {
        let mut made = one(slip);
        if let Some(other) = &slip.with {
            made["with"] = one(other);
        }
        made
    };
    let slips: Vec<_> = answer.slips.iter().map(with_partner).collect();
    let irreducible: Vec<_> = answer
        .irreducible
        .iter()
        .map(|error| serde_json::json!({ "line": error.place.line, "message": error.message }))
        .collect();
    let fit: Vec<_> = answer
        .fit
        .iter()
        .map(|fit| {
            serde_json::json!({
                "clutch": colony.clutch(fit.clutch).id,
                "gene": colony.gene(fit.gene).name,
                "tail": fit.tail,
            })
        })
        .collect();
    write(&serde_json::json!({
        "schema": 1,
        "method": method(answer.method),
        "log_evidence": answer.log_evidence,
        "assumptions": serde_json::to_value(Named(&answer.assumptions)).unwrap_or_default(),
        "warnings": answer.warnings,
        "slip_prior": answer.slip_prior,
        "slips": slips,
        "irreducible": irreducible,
        "fit": fit,
    }))
}

/// `check --json`.
pub fn check(colony: &Colony, text: &str, notices: &[Notice]) -> String {
    let line = |number: usize| text.lines().nth(number.saturating_sub(1)).unwrap_or_default();
    let notice = |notice: &Notice| {
        serde_json::json!({
            "line": notice.place.map(|place| place.line),
            "column": notice.place.map(|place| place.column),
            "text": notice.place.map(|place| line(place.line)),
            "message": notice.message,
        })
    };
    let founders = colony.animals.iter().filter(|animal| animal.origin == Origin::Founder).count();
    let counted: u32 = colony.clutches.iter().flat_map(|c| &c.counts).map(Count::total).sum();
    let notices: Vec<serde_json::Value> = notices.iter().map(notice).collect();
    write(&serde_json::json!({
        "schema": 1,
        "assumptions": serde_json::to_value(Named(&colony.assumptions)).unwrap_or_default(),
        "counts": {
            "genes": colony.genes.len(),
            "founders": founders,
            "clutches": colony.clutches.len(),
            "hatchlings": colony.animals.len() - founders,
            "counted": counted,
        },
        "notices": notices,
        "errors": [],
    }))
}

pub(super) fn method(method: Method) -> &'static str {
    match method {
        Method::Exact => "exact",
        Method::Estimated => "estimated",
    }
}

pub(super) fn write<T: Serialize>(value: &T) -> String {
    // Maps have string keys and no writer fails, so this cannot go wrong.
    serde_json::to_string_pretty(value).unwrap_or_default() + "\n"
}
