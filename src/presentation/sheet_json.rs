//! What an import says, as JSON.

use serde_json::{Value, json};

use super::sheet_text::Written;
use crate::records::sheet::{Added, Outcome, Question, Report};

/// What an import came to.
pub fn import_json(outcome: &Outcome, written: Written) -> String {
    let rows: Vec<Value> = outcome.reports.iter().map(row).collect();
    let written = matches!(written, Written::Yes | Written::Partly);
    let answer = json!({
        "schema": 1,
        "written": written,
        "imported": added(&outcome.added),
        "known": outcome.known,
        "repeated": outcome.repeated,
        "rows": rows,
    });
    format!("{answer:#}\n")
}

fn added(added: &Added) -> Value {
    json!({
        "genes": added.genes,
        "animals": added.animals,
        "clutches": added.clutches,
        "hatchlings": added.hatchlings,
        "counted": added.counted,
        "filled": added.filled,
    })
}

fn row(report: &Report) -> Value {
    let reasons: Vec<&str> = report.troubles.iter().map(|one| one.reason.as_str()).collect();
    let helps: Vec<&str> = report.troubles.iter().filter_map(|one| one.help.as_deref()).collect();
    let reason = if reasons.is_empty() { report.waits.clone() } else { reasons.join("; ") };
    json!({
        "row": report.row,
        "reason": reason,
        "help": if helps.is_empty() { Value::Null } else { json!(helps.join("; ")) },
        "text": report.text,
        "waits_for": report.waits_for,
    })
}

/// The questions of a mapping; nothing is imported.
pub fn questions_json(mapping: &str, questions: &[Question]) -> String {
    let questions: Vec<Value> = questions
        .iter()
        .map(|question| json!({ "line": question.line, "text": question.text }))
        .collect();
    let answer = json!({
        "schema": 1,
        "written": false,
        "mapping": mapping,
        "questions": questions,
        "imported": added(&Added::default()),
        "rows": [],
    });
    format!("{answer:#}\n")
}
