//! `export`: the records as a sheet.

use proveout::records::sheet::{export, export_mapping};
use proveout::records::{Call, Colony};

use super::args::{ExportArgs, Records};
use super::input::Source;
use super::{Failure, output};

pub fn run(asked: &ExportArgs) -> Result<(), Failure> {
    let records = Records {
        file: asked.file.clone(),
        assume: Vec::new(),
        json: false,
        format: asked.format,
        out: None,
    };
    let source = Source::read(&records)?;
    if let Some(mapping) = &asked.mapping {
        output::write_file(mapping, export_mapping(), false)?;
    }
    output::answer(&export(&source.colony, asked.separator.sign()), asked.out.as_deref())?;
    output::tell(&kept_as_text(&source));
    Ok(())
}

/// What a sheet has no columns for, in words.
fn kept_as_text(source: &Source) -> String {
    let colony = &source.colony;
    let mut kept = Vec::new();
    let mut note = |there: bool, what: &'static str| {
        if there {
            kept.push(what);
        }
    };
    note(any_call(colony, |call| matches!(call, Call::Either(_))), "uncertain calls");
    note(colony.animals.iter().any(|animal| !animal.readings.is_empty()), "readings");
    note(colony.animals.iter().any(|animal| animal.grown.is_some()), "later looks");
    note(colony.animals.iter().any(|animal| !animal.seen.unread.is_empty()), "unread genes");
    let several = |clutch: &proveout::records::Clutch| clutch.siring.candidates.len() > 1;
    note(colony.clutches.iter().any(several), "clutches with several sires");
    let mut text = String::new();
    if !kept.is_empty() {
        text += &format!(
            "note: a sheet has no columns for {}: they stand as text under `more` and `clutch more`\n",
            kept.join(", ")
        );
    }
    if source.text.lines().any(|line| line.trim_start().starts_with('#')) {
        text += "note: the remarks of the file (#) are not in the sheet\n";
    }
    text
}

fn any_call(colony: &Colony, test: impl Fn(&Call) -> bool) -> bool {
    let counts = colony.clutches.iter().flat_map(|clutch| &clutch.counts);
    let seen = colony.animals.iter().map(|animal| &animal.seen);
    seen.chain(counts.map(|count| &count.seen)).any(|seen| test(&seen.call))
}
