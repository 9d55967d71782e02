//! Answers of the server drawn into the text that they speak of.

use std::collections::BTreeMap;
use std::ops::Range;

use serde_json::Value;

use crate::client::{Client, offset};

/// A line of text with a mark under a stretch of it.
fn marked(text: &str, range: &Range<usize>, label: &str) -> String {
    let start = text[..range.start].rfind('\n').map_or(0, |at| at + 1);
    let end = text[range.start..].find('\n').map_or(text.len(), |at| range.start + at);
    let number = text[..range.start].matches('\n').count() + 1;
    let line = text[start..end].trim_end_matches('\r');
    let width = text[range.start..range.end.min(end)].chars().count().max(1);
    let more = if range.end > end { "…" } else { "" };
    let blank = " ".repeat(text[start..range.start].chars().count());
    let label = label.replace('\n', &format!("\n     | {blank}"));
    format!("{number:4} | {line}\n     | {blank}{}{more} {label}\n", "^".repeat(width))
}

pub(crate) fn ranges(client: &Client, path: &str, list: &Value, label: impl Fn(&Value) -> String) -> String {
    let text = client.text(path);
    let list = list.as_array().map_or(&[][..], Vec::as_slice);
    if list.is_empty() {
        return "nothing\n".to_owned();
    }
    list.iter().map(|item| marked(&text, &client.range(path, &item["range"]), &label(item))).collect()
}

pub(crate) fn diagnostics(client: &Client, path: &str, list: &Value) -> String {
    let label = |found: &Value| {
        let level = ["", "error", "warning", "note", "hint"]
            [usize::try_from(found["severity"].as_u64().unwrap()).unwrap()];
        let mut label = format!(
            "{level}[{}]: {}",
            found["code"].as_str().unwrap_or(""),
            found["message"].as_str().unwrap()
        );
        for related in found["relatedInformation"].as_array().into_iter().flatten() {
            let path = client.path(related["location"]["uri"].as_str().unwrap());
            let line = related["location"]["range"]["start"]["line"].as_u64().unwrap() + 1;
            label.push_str(&format!("\n{path}:{line}: {}", related["message"].as_str().unwrap()));
        }
        label
    };
    format!("{path}:\n{}", ranges(client, path, list, label))
}

pub(crate) fn hover(client: &Client, path: &str, answer: &Value) -> String {
    if answer.is_null() {
        return "nothing\n".to_owned();
    }
    let text = marked(&client.text(path), &client.range(path, &answer["range"]), "");
    format!("{text}{}\n", answer["contents"]["value"].as_str().unwrap().trim_end())
}

pub(crate) fn completions(answer: &Value) -> String {
    let item = |item: &Value| {
        let new = item["textEdit"]["newText"].as_str().unwrap();
        let label = item["label"].as_str().unwrap();
        let detail = item["detail"].as_str().map(|detail| format!("  ({detail})")).unwrap_or_default();
        if new == label { format!("{label}{detail}\n") } else { format!("{label} -> {new}{detail}\n") }
    };
    let told: String = answer.as_array().into_iter().flatten().map(item).collect();
    if told.is_empty() { "nothing\n".to_owned() } else { told }
}

/// The text with hints in it, as an editor shows them.
pub(crate) fn hints(client: &Client, path: &str, answer: &Value) -> String {
    let mut text = client.text(path);
    let mut hints: Vec<(usize, &str)> = answer
        .as_array()
        .into_iter()
        .flatten()
        .map(|hint| (offset(&text, &hint["position"], &client.encoding), hint["label"].as_str().unwrap()))
        .collect();
    // Of two at one place the first stands first.
    hints.reverse();
    hints.sort_by_key(|(at, _)| std::cmp::Reverse(*at));
    for (at, label) in hints {
        text.insert_str(at, &format!(" «{label}»"));
    }
    text
}

pub(crate) fn actions(answer: &Value) -> String {
    let action = |action: &Value| {
        let preferred = if action["isPreferred"] == true { " (preferred)" } else { "" };
        format!("{}: {}{preferred}\n", action["kind"].as_str().unwrap(), action["title"].as_str().unwrap())
    };
    let told: String = answer.as_array().into_iter().flatten().map(action).collect();
    if told.is_empty() { "nothing\n".to_owned() } else { told }
}

/// Makes an edit, in open documents and on disk, and shows what it changed.
pub(crate) fn applied(client: &mut Client, edit: &Value) -> String {
    let mut files: BTreeMap<String, Vec<Value>> = BTreeMap::new();
    for document in edit["documentChanges"].as_array().into_iter().flatten() {
        let path = client.path(document["textDocument"]["uri"].as_str().unwrap());
        let version = client.documents.get(&path).map(|document| document.version);
        assert_eq!(
            document["textDocument"]["version"].as_i64(),
            version,
            "edits are meant for the version at hand"
        );
        files.insert(path, document["edits"].as_array().unwrap().clone());
    }
    for (uri, edits) in edit["changes"].as_object().into_iter().flatten() {
        files.insert(client.path(uri), edits.as_array().unwrap().clone());
    }
    let mut told = String::new();
    for (path, edits) in files {
        let old = client.text(&path);
        let mut changes: Vec<(Range<usize>, String)> = edits
            .iter()
            .map(|edit| (client.range(&path, &edit["range"]), edit["newText"].as_str().unwrap().to_owned()))
            .collect();
        // From the end, so that each leaves the places of the others.
        changes.sort_by_key(|(range, _)| std::cmp::Reverse((range.start, range.end)));
        let mut new = old.clone();
        for (range, text) in &changes {
            new.replace_range(range.clone(), text);
        }
        if client.documents.contains_key(&path) {
            client.change(&path, &changes);
        } else {
            std::fs::write(client.root.join(&path), &new).unwrap();
            client.watched(&path, 2);
        }
        told.push_str(&format!("{path}:\n"));
        let (old, new): (Vec<&str>, Vec<&str>) = (old.lines().collect(), new.lines().collect());
        let head = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
        let most = old.len().min(new.len()) - head;
        let tail = old.iter().rev().zip(new.iter().rev()).take(most).take_while(|(a, b)| a == b).count();
        let gone = &old[head..old.len() - tail];
        let put = &new[head..new.len() - tail];
        if gone.len() == put.len() {
            for (gone, put) in gone.iter().zip(put).filter(|(gone, put)| gone != put) {
                told.push_str(&format!("- {gone}\n+ {put}\n"));
            }
        } else {
            told.extend(gone.iter().map(|line| format!("- {line}\n")));
            told.extend(put.iter().map(|line| format!("+ {line}\n")));
        }
    }
    if told.is_empty() { "no change\n".to_owned() } else { told }
}

pub(crate) fn locations(client: &Client, answer: &Value) -> String {
    let list = answer.as_array().map_or(&[][..], Vec::as_slice);
    let place = |location: &Value| {
        let path = client.path(location["uri"].as_str().unwrap());
        format!("{path}\n{}", marked(&client.text(&path), &client.range(&path, &location["range"]), ""))
    };
    if list.is_empty() { "nothing\n".to_owned() } else { list.iter().map(place).collect() }
}

pub(crate) fn symbols(list: &Value, depth: usize) -> String {
    let symbol = |symbol: &Value| {
        let detail = symbol["detail"].as_str().map(|detail| format!("  ({detail})")).unwrap_or_default();
        let lines = &symbol["range"];
        let line = |at: &str| lines[at]["line"].as_u64().unwrap() + 1;
        let own = format!(
            "{}{}{detail}  {}..{}\n",
            "  ".repeat(depth),
            symbol["name"].as_str().unwrap(),
            line("start"),
            line("end")
        );
        own + &symbols(&symbol["children"], depth + 1)
    };
    list.as_array().into_iter().flatten().map(symbol).collect()
}

pub(crate) fn found(client: &Client, list: &Value) -> String {
    let symbol = |symbol: &Value| {
        let path = client.path(symbol["location"]["uri"].as_str().unwrap());
        let line = symbol["location"]["range"]["start"]["line"].as_u64().unwrap() + 1;
        format!("{} {path}:{line}\n", symbol["name"].as_str().unwrap())
    };
    let told: String = list.as_array().into_iter().flatten().map(symbol).collect();
    if told.is_empty() { "nothing\n".to_owned() } else { told }
}

/// The text with the depth of its folds beside it.
pub(crate) fn folds(text: &str, list: &Value) -> String {
    let folds: Vec<(u64, u64)> = list
        .as_array()
        .into_iter()
        .flatten()
        .map(|fold| (fold["startLine"].as_u64().unwrap(), fold["endLine"].as_u64().unwrap()))
        .collect();
    let line = |(number, line): (u64, &str)| {
        let begins = folds.iter().filter(|fold| fold.0 == number).count();
        let inside = folds.iter().filter(|fold| fold.0 < number && number <= fold.1).count();
        format!("{:4} {line}", "|".repeat(inside) + &"v".repeat(begins))
    };
    (0..).zip(text.split_inclusive('\n')).map(line).collect()
}

pub(crate) fn growing(client: &Client, path: &str, answer: &Value) -> String {
    let text = client.text(path);
    let mut told = String::new();
    let mut range = answer;
    while !range.is_null() {
        let lies = client.range(path, &range["range"]);
        told.push_str(&format!("{:?}\n", &text[lies]));
        range = &range["parent"];
    }
    told
}

/// The text with each token in brackets behind its kind.
pub(crate) fn tokens(client: &Client, path: &str, data: &Value) -> String {
    let kinds = client.capabilities["semanticTokensProvider"]["legend"]["tokenTypes"].clone();
    let text = client.text(path);
    let data: Vec<u64> = data.as_array().unwrap().iter().map(|n| n.as_u64().unwrap()).collect();
    let (mut line, mut column) = (0, 0);
    let mut out = String::new();
    let mut at = 0;
    for token in data.chunks(5) {
        (line, column) = if token[0] == 0 { (line, column + token[1]) } else { (line + token[0], token[1]) };
        let place = |column: u64| {
            offset(&text, &serde_json::json!({"line": line, "character": column}), &client.encoding)
        };
        let (start, end) = (place(column), place(column + token[2]));
        let kind = kinds[usize::try_from(token[3]).unwrap()].as_str().unwrap();
        let declared = if token[4] == 1 { "!" } else { "" };
        out.push_str(&format!("{}{kind}{declared}[{}]", &text[at..start], &text[start..end]));
        at = end;
    }
    out + &text[at..]
}

/// The next thing that the server says unasked by this method.
pub(crate) fn heard(client: &mut Client, method: &str) -> String {
    loop {
        if let Some(at) = client.said.iter().position(|message| message["method"] == method) {
            let message = client.said.remove(at).unwrap_or_default();
            let params = &message["params"];
            let parts = [
                &params["message"],
                &params["value"]["kind"],
                &params["value"]["title"],
                &params["value"]["message"],
            ];
            let mut text = parts.iter().filter_map(|part| part.as_str()).collect::<Vec<_>>().join(": ");
            if let Some(percentage) = params["value"]["percentage"].as_u64() {
                text.push_str(&format!(" ({percentage} %)"));
            }
            for registration in params["registrations"].as_array().into_iter().flatten() {
                text.push_str(&format!("{}\n", registration["method"].as_str().unwrap()));
            }
            let root = client.root.to_str().unwrap();
            return text.replace(&client.uri(""), "{root}/").replace(root, "{root}");
        }
        client.receive().unwrap_or_else(|| panic!("{method} was never said"));
    }
}
