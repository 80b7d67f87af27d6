//! Answers as JSON, schema 1; numbers are never rounded.

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use super::{doubts, names};
use crate::questions::{
    ClutchFit, ConflictsAnswer, Divided, GenotypesAnswer, IdentifyAnswer, LabelsAnswer, Method,
    Slip,
};
use crate::records::{AnimalId, Assumptions, Colony, Count, GeneId, Genotype, Notice, Origin};

/// Chances by name, in a fixed order.
struct Chances<'a> {
    names: &'a [String],
    values: &'a [f64],
}

impl Serialize for Chances<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.values.len()))?;
        for (name, value) in self.names.iter().zip(self.values) {
            map.serialize_entry(name, value)?;
        }
        map.end()
    }
}

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
struct GenotypesBody<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    estimate: Option<serde_json::Value>,
    genotypes: Vec<GenotypeEntry<'a>>,
    sires: Vec<SireEntry<'a>>,
    cautions: Vec<serde_json::Value>,
}

#[derive(Serialize)]
struct SireEntry<'a> {
    clutch: &'a str,
    hatchling: Option<&'a str>,
    candidates: serde_json::Map<String, serde_json::Value>,
}

#[derive(Serialize)]
struct GenotypeEntry<'a> {
    animal: &'a str,
    gene: &'a str,
    prior: Chances<'a>,
    posterior: Chances<'a>,
    /// Monte-Carlo standard errors of an estimated posterior.
    #[serde(skip_serializing_if = "Option::is_none")]
    error: Option<Chances<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sex: Option<Sexes>,
    #[serde(skip_serializing_if = "Option::is_none")]
    by_mode: Option<serde_json::Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    inherited: Option<f64>,
}

/// The chances of the sexes of an animal whose sex is not recorded.
#[derive(Serialize)]
struct Sexes {
    female: f64,
    male: f64,
}

/// `genotypes --json`.
pub fn genotypes(colony: &Colony, answer: &GenotypesAnswer) -> String {
    let by_gene = GenotypeNames::new(colony);
    let entry = |one: &'_ crate::questions::GenotypeAnswer| GenotypeEntry {
        animal: colony.animal(one.animal).id.as_deref().unwrap_or_default(),
        gene: &colony.gene(one.gene).name,
        prior: Chances { names: by_gene.of(one.gene, &one.genotypes), values: &[] },
        posterior: Chances { names: by_gene.of(one.gene, &one.genotypes), values: &[] },
        error: None,
        sex: one.sex.map(|[female, male]| Sexes { female, male }),
        by_mode: one.suspected.as_ref().map(|s| super::modes_json::by_mode(colony, one.gene, s)),
        inherited: one.suspected.as_ref().map(|suspected| suspected.inherited),
    };
    let entries = answer.genotypes.iter().map(|one| {
        let mut made = entry(one);
        made.prior.values = &one.prior;
        made.posterior.values = &one.posterior;
        let names = made.posterior.names;
        made.error = one.error.as_deref().map(|values| Chances { names, values });
        made
    });
    let sires = answer.sires.iter().map(|one| SireEntry {
        clutch: &colony.clutch(one.clutch).id,
        hatchling: one.hatchling.and_then(|id| colony.animal(id).id.as_deref()),
        candidates: one
            .candidates
            .iter()
            .map(|(candidate, _, after)| (names::candidate(colony, *candidate), (*after).into()))
            .collect(),
    });
    let body = GenotypesBody {
        estimate: answer.estimate.map(|one| {
            serde_json::json!({
                "seed": one.seed, "chains": one.chains, "passes": one.passes,
                "largest_error": one.largest_error, "effective_draws": one.effective,
                "between_chains": one.apart,
            })
        }),
        genotypes: entries.collect(),
        sires: sires.collect(),
        cautions: super::cautions::values(colony, &answer.cautions),
    };
    write(&Answer {
        schema: 1,
        method: method(answer.method),
        log_evidence: answer.log_evidence,
        assumptions: Named(&answer.assumptions),
        warnings: doubts::warnings(
            colony,
            &answer.warnings,
            answer.surprise.as_ref(),
            &answer.divided,
        ),
        body,
    })
}

/// Names of the genotypes of each gene, made once: those with two copies, then those with one.
struct GenotypeNames {
    two: Vec<Vec<String>>,
    one: Vec<Vec<String>>,
    both: Vec<Vec<String>>,
}

impl GenotypeNames {
    fn new(colony: &Colony) -> Self {
        let name = |gene: GeneId, list: Vec<Genotype>| -> Vec<String> {
            list.into_iter().map(|g| names::genotype(colony, gene, g)).collect()
        };
        let two = |gene: GeneId| name(gene, colony.gene(gene).two_copy_genotypes());
        let one = |gene: GeneId| {
            name(gene, (0..=colony.gene(gene).alleles.len()).map(Genotype::One).collect())
        };
        let both = |gene: GeneId| [two(gene), one(gene)].concat();
        GenotypeNames {
            two: colony.gene_ids().map(two).collect(),
            one: colony.gene_ids().map(one).collect(),
            both: colony.gene_ids().map(both).collect(),
        }
    }

    fn of(&self, gene: GeneId, genotypes: &[Genotype]) -> &[String] {
        match (genotypes.first(), genotypes.last()) {
            (Some(Genotype::One(_)), _) => &self.one[gene.0],
            (_, Some(Genotype::One(_))) => &self.both[gene.0],
            _ => &self.two[gene.0],
        }
    }
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
    write(&Answer {
        schema: 1,
        method: method(answer.method),
        log_evidence: answer.log_evidence,
        assumptions: Named(&answer.assumptions),
        warnings: doubts::warnings(
            colony,
            &answer.warnings,
            answer.surprise.as_ref(),
            &answer.divided,
        ),
        body: IdentifyBody { hatchlings: hatchlings.collect() },
    })
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
