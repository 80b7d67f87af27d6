//! `genotypes --json`: what each animal carries, row by row.

use rayon::prelude::*;
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use super::json::{Envelope, enveloped};
use super::names;
use crate::questions::{GenotypeAnswer, GenotypesAnswer};
use crate::records::{Colony, GeneId, Genotype};

/// Rows that are written together.
const ROWS: usize = 2_000;

/// So many of those make a piece.
const TOGETHER: usize = 8;

/// Bytes of a row, about.
const ROW: usize = 450;

/// The rows of an answer with none.
const NO_ROWS: &str = "\"genotypes\": []";

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

#[derive(Serialize)]
struct GenotypesBody<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    estimate: Option<serde_json::Value>,
    /// Left empty: the rows are written apart.
    genotypes: [(); 0],
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

/// Some of the rows, as they stand in the answer.
#[derive(Serialize)]
struct Rows<'a> {
    genotypes: Vec<GenotypeEntry<'a>>,
}

/// `genotypes --json`.
pub fn genotypes(colony: &Colony, answer: &GenotypesAnswer) -> String {
    genotypes_in_pieces(colony, answer).collect()
}

/// The same in pieces that follow each other, made as they are asked for: the rows of a large colony
/// are written at the same time, but never all of them held.
pub fn genotypes_in_pieces<'a>(
    colony: &'a Colony,
    answer: &'a GenotypesAnswer,
) -> impl Iterator<Item = String> + 'a {
    let whole = without_rows(colony, answer);
    let (before, behind) = match whole.split_once(NO_ROWS) {
        Some((before, behind)) if !answer.genotypes.is_empty() => {
            (format!("{before}\"genotypes\": ["), format!("\n  ]{behind}"))
        }
        _ => (whole, String::new()),
    };
    let by_gene = GenotypeNames::new(colony);
    let last = answer.genotypes.len().div_ceil(ROWS * TOGETHER);
    let some = answer.genotypes.chunks(ROWS * TOGETHER).enumerate().map(move |(at, some)| {
        let parts: Vec<String> =
            some.par_chunks(ROWS).map(|some| rows(colony, &by_gene, some)).collect();
        parts.join(",") + if at + 1 < last { "," } else { "" }
    });
    std::iter::once(before).chain(some).chain([behind])
}

/// Rows with commas between them, each begun on a line of its own.
fn rows(colony: &Colony, by_gene: &GenotypeNames, some: &[GenotypeAnswer]) -> String {
    let rows = Rows { genotypes: some.iter().map(|one| row(colony, by_gene, one)).collect() };
    let mut bytes = Vec::with_capacity(ROW * some.len());
    // Maps have string keys and no writer fails, so this cannot go wrong.
    let _ = serde_json::to_writer_pretty(&mut bytes, &rows);
    let text = String::from_utf8(bytes).unwrap_or_default();
    let inside = text.strip_prefix("{\n  \"genotypes\": [");
    inside.and_then(|text| text.strip_suffix("\n  ]\n}")).unwrap_or_default().to_owned()
}

fn row<'a>(
    colony: &'a Colony,
    by_gene: &'a GenotypeNames,
    one: &'a GenotypeAnswer,
) -> GenotypeEntry<'a> {
    let names = by_gene.of(one.gene, &one.genotypes);
    GenotypeEntry {
        animal: colony.animal(one.animal).id.as_deref().unwrap_or_default(),
        gene: &colony.gene(one.gene).name,
        prior: Chances { names, values: &one.prior },
        posterior: Chances { names, values: &one.posterior },
        error: one.error.as_deref().map(|values| Chances { names, values }),
        sex: one.sex.map(|[female, male]| Sexes { female, male }),
        by_mode: one.suspected.as_ref().map(|s| super::modes_json::by_mode(colony, one.gene, s)),
        inherited: one.suspected.as_ref().map(|suspected| suspected.inherited),
    }
}

fn without_rows(colony: &Colony, answer: &GenotypesAnswer) -> String {
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
        genotypes: [],
        sires: sires.collect(),
        cautions: super::cautions::values(colony, &answer.cautions),
    };
    let of = Envelope {
        method: answer.method,
        log_evidence: answer.log_evidence,
        assumptions: &answer.assumptions,
        warnings: &answer.warnings,
        surprise: answer.surprise.as_ref(),
        divided: &answer.divided,
    };
    enveloped(colony, &of, body)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::{Asked, genotypes as ask};
    use crate::records::{Format, read};

    #[test]
    fn rows_written_apart_are_one_answer() {
        let mut text = String::from("[gene.a]\ninheritance = \"recessive\"\n");
        for at in 0..2 * ROWS * TOGETHER + 1 {
            text += &format!("[[animal]]\nid = \"genotypes [] {at}\"\n");
        }
        let colony = read(text.as_bytes(), Format::Toml).expect("sound").colony;
        let answer = ask(&colony, &Asked::default()).expect("possible");
        let pieces: Vec<String> = genotypes_in_pieces(&colony, &answer).collect();
        assert_eq!(pieces.len(), 5);
        let text = pieces.concat();
        assert_eq!(text, genotypes(&colony, &answer));
        let value: serde_json::Value = serde_json::from_str(&text).expect("JSON");
        assert_eq!(serde_json::to_string_pretty(&value).expect("JSON") + "\n", text);
        let rows = value["genotypes"].as_array().expect("rows");
        assert_eq!(rows.len(), answer.genotypes.len());
        for (row, one) in rows.iter().zip(&answer.genotypes) {
            assert_eq!(row["animal"].as_str(), colony.animal(one.animal).id.as_deref());
            assert_eq!(row["posterior"]["a/a"].as_f64(), Some(one.posterior[2]));
        }
    }
}
