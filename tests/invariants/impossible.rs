//! Records that cannot all be true.
//!
//! Backgrounds are positive here and no genotype is lethal, so that a founder whose record is left
//! out can be anything.

use num_traits::Zero;
use proveout::inference::JunctionTree;
use proveout::network::{ColonyNetwork, Grouping, Item, ItemKind, assemble};
use proveout::questions::{Asked, Unanswerable, genotypes, identify, record_name};
use proveout::records::{
    Call, Checked, Colony, Format, GeneId, Misread, Observation, Place, ReadingKind, RecordError,
    read, to_toml,
};

use crate::judge::judge_evidence;
use crate::random_colonies::{Features, small};

/// A colony in which every call is right.
fn without_excuses(seed: u64, features: Features) -> Colony {
    let mut colony = small(seed, features);
    for gene in &mut colony.genes {
        gene.misread = Some(Misread::Any(0.0));
        gene.background = Some(vec![0.125; gene.alleles.len()]);
        gene.penetrance = None;
        gene.lethal.clear();
    }
    colony.masks.clear();
    for animal in &mut colony.animals {
        animal.believed = false;
        for reading in &mut animal.readings {
            if let ReadingKind::Result { reliability, .. } = &mut reading.kind {
                *reliability = 1.0;
            }
        }
    }
    colony
}

/// The errors, when the records are impossible; checks that both questions say so.
fn errors(colony: &Colony) -> Option<Vec<RecordError>> {
    let [one, other] = [
        genotypes(colony, &Asked::default()).map(|answer| answer.log_evidence),
        identify(colony, &Asked::default()).map(|answer| answer.log_evidence),
    ];
    match (one, other) {
        (Ok(one), Ok(other)) => {
            assert!(one.is_finite() && other.is_finite());
            None
        }
        (Err(Unanswerable::Impossible(errors)), Err(Unanswerable::Impossible(_))) => Some(errors),
        (one, other) => panic!("{one:?} and {other:?}"),
    }
}

/// The items that the errors name.
fn named(colony: &Colony, net: &ColonyNetwork, errors: &[RecordError]) -> Vec<usize> {
    let mut found = Vec::new();
    for error in errors {
        let is = |item: &Item| {
            let name = record_name(colony, item);
            let alone = format!("{name} cannot be true of any animal in this place");
            item.place == error.place && (error.message.ends_with(&name) || error.message == alone)
        };
        let fits = |at: &usize| is(&net.items[*at]) && !found.contains(at);
        let item = (0..net.items.len()).find(fits);
        found.push(item.unwrap_or_else(|| panic!("no record is {error:?}")));
    }
    found
}

fn possible(net: &ColonyNetwork, items: &[usize]) -> bool {
    let on: Vec<bool> = (0..net.items.len()).map(|at| items.contains(&at)).collect();
    let evidence = net.evidence_freeing(&on);
    let tree = JunctionTree::plan(&net.graph, &evidence, u64::MAX);
    tree.is_ok_and(|tree| tree.calibrate(&evidence).is_ok())
}

/// Each way to leave one out, and nothing left out.
fn ways(items: &[usize]) -> impl Iterator<Item = (Vec<usize>, bool)> {
    let without = |at: usize| -> Vec<usize> {
        items.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, item)| *item).collect()
    };
    let less = (0..items.len()).map(move |at| (without(at), true));
    less.chain([(items.to_vec(), false)])
}

#[test]
fn any_one_record_less_makes_the_named_set_possible() {
    let mut impossible = 0;
    for (seed, features) in
        (0..400).flat_map(|seed| [(seed, Features::ALL), (seed, Features::AUTOSOMAL)])
    {
        let colony = without_excuses(seed, features);
        let Some(errors) = errors(&colony) else { continue };
        impossible += 1;
        assert!(!errors.is_empty(), "seed {seed}: no record is named");
        let net = assemble(&colony, Grouping::Apart);
        if !possible(&net, &[]) {
            assert!(errors.len() == 1 && errors[0].message.contains("without a father"));
            continue;
        }
        let items = named(&colony, &net, &errors);
        for (some, want) in ways(&items) {
            assert_eq!(possible(&net, &some), want, "seed {seed}: {some:?} of {errors:#?}");
        }
    }
    assert!(impossible >= 100, "only {impossible} were impossible");
}

/// A colony with nothing but these records.
fn only(colony: &Colony, net: &ColonyNetwork, items: &[usize]) -> Colony {
    let mut bare = colony.clone();
    for animal in &mut bare.animals {
        animal.seen.call = Call::NotRecorded;
        animal.grown = None;
        animal.readings.clear();
        animal.statements.clear();
    }
    bare.clutches.iter_mut().for_each(|clutch| clutch.counts.clear());
    for item in items.iter().map(|at| &net.items[*at]) {
        put_back(colony, &mut bare, item);
    }
    bare
}

fn put_back(colony: &Colony, bare: &mut Colony, item: &Item) {
    if item.kind == ItemKind::Count {
        let clutch = item.clutch.expect("a count is of a clutch").0;
        let counts = &colony.clutches[clutch].counts;
        let mut count = counts.iter().find(|count| count.place == item.place).unwrap().clone();
        count.seen = of_gene(colony, &count.seen, item.gene);
        bare.clutches[clutch].counts.push(count);
        return;
    }
    let id = item.animal.expect("a record of an animal").0;
    let (was, animal) = (&colony.animals[id], &mut bare.animals[id]);
    match item.kind {
        ItemKind::Statement => {
            animal
                .statements
                .extend(was.statements.iter().find(|s| s.place == item.place).cloned());
        }
        ItemKind::Reading => {
            animal.readings.extend(was.readings.iter().find(|r| r.place == item.place).cloned());
        }
        _ => {
            let late = was.grown.as_ref().filter(|grown| grown.place == Some(item.place));
            let seen = of_gene(colony, late.unwrap_or(&was.seen), item.gene);
            let to = match late {
                Some(_) => animal.grown.get_or_insert_default(),
                None => &mut animal.seen,
            };
            *to = together(std::mem::take(to), seen);
        }
    }
}

/// What was seen of one gene; of all, where the record is about several.
fn of_gene(colony: &Colony, seen: &Observation, gene: Option<GeneId>) -> Observation {
    let mut one = seen.clone();
    if let (Some(gene), Call::Looks(looks)) = (gene, &mut one.call) {
        looks.retain(|look| look.gene == gene);
        one.unread = colony.gene_ids().filter(|other| *other != gene).collect();
    }
    one
}

fn together(one: Observation, other: Observation) -> Observation {
    match (one.call, other.call) {
        (Call::Looks(these), Call::Looks(those)) => Observation {
            call: Call::Looks(these.into_iter().chain(those).collect()),
            unread: one.unread.into_iter().filter(|gene| other.unread.contains(gene)).collect(),
            place: one.place,
        },
        (_, call) => Observation { call, ..other },
    }
}

/// The table that a place is in, without its head, and the clutch it belongs to.
fn table_at(text: &str, place: Place) -> (&str, String) {
    let head = text[..place.start].rfind("\n[").map_or(0, |at| at + 1);
    let end = text[place.start..].find("\n[").map_or(text.len(), |at| place.start + at);
    let clutch = text[..place.start].rfind("[[clutch]]").map_or("", |at| &text[at..]);
    let clutch = clutch.lines().find_map(|line| line.strip_prefix("id = ")).unwrap_or_default();
    (&text[head..end], clutch.trim_matches('"').to_owned())
}

#[test]
fn the_errors_of_a_file_stand_where_the_records_stand() {
    let mut impossible = 0;
    for seed in 0..400 {
        let text = to_toml(&without_excuses(seed, Features::AUTOSOMAL));
        // Two identities that happen to be the same are refused.
        let Ok(Checked { colony, .. }) = read(text.as_bytes(), Format::Toml) else { continue };
        let Some(errors) = errors(&colony) else { continue };
        impossible += 1;
        let net = assemble(&colony, Grouping::Apart);
        let items = named(&colony, &net, &errors);
        for (error, item) in errors.iter().zip(&items) {
            let item = &net.items[*item];
            let (table, clutch) = table_at(&text, error.place);
            let line = text[..error.place.start].matches('\n').count() + 1;
            assert_eq!(error.place.line, line, "{error:?}");
            match item.animal {
                Some(animal) => {
                    let id = colony.animal(animal).id.as_ref().unwrap();
                    assert!(table.contains(&format!("id = \"{id}\"\n")), "{error:?} in\n{table}");
                    assert!(error.message.contains(id.as_str()), "{error:?}");
                }
                None => assert!(error.message.contains(&clutch), "{error:?} in {clutch}"),
            }
        }
        // The exact judge knows nothing of items: it looks at a colony with these records only.
        for (some, want) in ways(&items) {
            let colony = only(&colony, &net, &some);
            assert_eq!(!judge_evidence(&colony).is_zero(), want, "seed {seed}: {some:?}\n{text}");
        }
    }
    assert!(impossible >= 60, "only {impossible} were impossible");
}

#[test]
fn a_son_without_a_father_is_named_where_males_are_xy() {
    let text = |sex: &str, number: &str| {
        format!(
            "sex_system = \"XY\"\n[gene.ash]\ninheritance = \"recessive\"\n\
             [[animal]]\nid = \"Dam\"\n[[clutch]]\nid = \"A\"\ndam = \"Dam\"\nsire = \"none\"\n\
             [[clutch.count]]\nlooks = []\nnumber = \"{number}\"\n\
             [[clutch.hatchling]]\nid = \"Young\"\nsex = \"{sex}\"\nlooks = []\n"
        )
    };
    let errors =
        |text: &str| errors(&read(text.as_bytes(), Format::Toml).expect("a records file").colony);
    for (sex, number, line, whose) in
        [("male", "0.3.0", 14, "Young"), ("female", "1.2.0", 10, "the count in A")]
    {
        let errors = errors(&text(sex, number)).expect("no son without a father");
        assert_eq!(errors.len(), 1, "{errors:?}");
        assert_eq!(errors[0].place.line, line, "{errors:?}");
        assert!(errors[0].message.starts_with(whose), "{errors:?}");
    }
    assert_eq!(errors(&text("female", "0.3.0")), None);
}
