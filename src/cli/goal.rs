//! `goal`: how do I get to that animal?

use proveout::presentation::{goal_json, goal_text};
use proveout::questions::{GoalAsked, Target, goal};
use proveout::records::{Colony, GeneId, Genotype, Look, nearest, normalise};

use super::input::{Source, unknown};
use super::planning_args::GoalArgs;
use super::progress::Progress;
use super::{Failure, output};

pub fn run(args: &GoalArgs) -> Result<(), Failure> {
    let source = Source::read(&args.records)?;
    let colony = &source.colony;
    let target = match (&args.looks, &args.genotype) {
        (Some(text), _) => by_looks(colony, text)?,
        (None, Some(text)) => genotypes(colony, text)?,
        (None, None) => return Err(Failure::Usage("give --looks or --genotype".into())),
    };
    let asked = GoalAsked {
        target,
        assurance: args.assurance,
        seasons: args.seasons,
        young: args.young,
        memory: args.limits.bytes(),
    };
    let working = Progress::begin("looking for ways");
    let answer = goal(colony, &asked).map_err(|why| source.failure(why));
    drop(working);
    let answer = answer?;
    super::chart::goal(&source, args.chart.as_deref(), &answer)?;
    let text = if args.records.json {
        goal_json::goal(colony, &answer)
    } else {
        source.show_notices();
        goal_text(colony, &answer)
    };
    output::answer(&text, args.records.out.as_deref())
}

/// Reads `ash + tallow`: looks and combinations.
pub fn by_looks(colony: &Colony, text: &str) -> Result<Target, Failure> {
    let mut wanted: Vec<Look> = Vec::new();
    for name in text.split(['+', ',']).map(normalise).filter(|name| !name.is_empty()) {
        for look in looks_of(colony, &name)? {
            match wanted.iter().find(|known| known.gene == look.gene) {
                None => wanted.push(look),
                Some(known) if *known == look => {}
                Some(known) => {
                    let gene = colony.gene(look.gene);
                    return Err(Failure::Usage(format!(
                        "no animal shows both `{}` and `{}`: they are looks of one gene",
                        gene.look_name(known.class),
                        gene.look_name(look.class),
                    )));
                }
            }
        }
    }
    wanted.sort_unstable();
    if wanted.is_empty() {
        return Err(Failure::Usage("--looks names no look: try --looks \"ash + tallow\"".into()));
    }
    Ok(Target::Looks(wanted))
}

/// What one name stands for.
fn looks_of(colony: &Colony, name: &str) -> Result<Vec<Look>, Failure> {
    if let Some(combination) = colony.combinations.iter().find(|one| one.name == *name) {
        return Ok(combination.looks.clone());
    }
    for gene in colony.gene_ids() {
        let declared = colony.gene(gene);
        if let Some(at) = declared.looks.iter().position(|look| look == name) {
            return Ok(vec![Look { gene, class: at + 1 }]);
        }
    }
    if let Some(gene) = colony.find_gene(name)
        && let [_] = colony.gene(gene).looks.as_slice()
    {
        return Ok(vec![Look { gene, class: 1 }]);
    }
    let looks = colony.genes.iter().flat_map(|gene| &gene.looks);
    let combinations = colony.combinations.iter().map(|combination| &combination.name);
    let near = nearest(name, looks.chain(combinations).map(String::as_str));
    Err(unknown("look", name, near))
}

/// Reads `ash/ash, +/tallow`, and `ash: +/+` where the alleles do not name the gene.
fn genotypes(colony: &Colony, text: &str) -> Result<Target, Failure> {
    let mut wanted: Vec<(GeneId, Genotype)> = Vec::new();
    for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        let (gene, genotype) = genotype(colony, part)?;
        if wanted.iter().any(|(known, _)| *known == gene) {
            let name = &colony.gene(gene).name;
            return Err(Failure::Usage(format!("`{name}` is given twice in --genotype")));
        }
        wanted.push((gene, genotype));
    }
    wanted.sort_unstable();
    if wanted.is_empty() {
        let example = "--genotype names none: try --genotype \"ash/ash, +/tallow\"";
        return Err(Failure::Usage(example.into()));
    }
    Ok(Target::Genotypes(wanted))
}

fn genotype(colony: &Colony, text: &str) -> Result<(GeneId, Genotype), Failure> {
    let (named, written) = match text.split_once(':') {
        Some((gene, rest)) => {
            let name = normalise(gene);
            let genes = colony.genes.iter().map(|gene| gene.name.as_str());
            let found = colony.find_gene(&name);
            (Some(found.ok_or_else(|| unknown("gene", &name, nearest(&name, genes)))?), rest)
        }
        None => (None, text),
    };
    let Some((one, other)) = written.split_once('/') else {
        let message = format!("a genotype is two alleles, as in `ash/ash`, not `{text}`");
        return Err(Failure::Usage(message));
    };
    let (one, other) = (normalise(one), normalise(other));
    let plain = [&one, &other].map(|name| format!("{name}/"));
    if named.is_none() && one == "+" && matches!(other.as_str(), "+" | "Y" | "W") {
        let message = format!("`{text}` could be any gene: name it, as in `ash: +/+`");
        return Err(Failure::Usage(message));
    }
    for gene in colony.gene_ids().filter(|gene| named.is_none_or(|of| of == *gene)) {
        let declared = colony.gene(gene);
        let mut possible = declared.two_copy_genotypes();
        if declared.sex_linked.is_some_and(|linked| linked.crossover.is_none()) {
            possible.extend((0..=declared.alleles.len()).map(Genotype::One));
        }
        for genotype in possible {
            let name = declared.genotype_name(genotype, colony.sex_system);
            if name == format!("{}{other}", plain[0]) || name == format!("{}{one}", plain[1]) {
                return Ok((gene, genotype));
            }
        }
    }
    let alleles = colony.genes.iter().flat_map(|gene| &gene.alleles);
    let wrong = [&one, &other]
        .into_iter()
        .find(|name| *name != "+" && !colony.genes.iter().any(|gene| gene.alleles.contains(name)));
    match wrong {
        Some(name) => Err(unknown("allele", name, nearest(name, alleles.map(String::as_str)))),
        None => Err(Failure::Usage(format!("no gene can be `{}`", text.trim()))),
    }
}
