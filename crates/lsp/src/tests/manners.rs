//! Each request has one answer, also where it is taken back and where reading a workspace fails.

use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use tower_lsp::jsonrpc::ErrorCode;

use super::client::Client;
use crate::disk::Disk;
use crate::text::Encoding;

const LOG: &str =
    "brew slack-1\n  wort 21 L at 1.048\n  readings \"cellar.csv\"\n  on 2026-09-12 pitch jar\n";

/// A folder with a log, and a logger's file beside it.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("barm.toml"), "").unwrap();
    fs::write(folder.path().join("a.barm"), LOG).unwrap();
    fs::write(folder.path().join("cellar.csv"), "time,temp/°C\n2026-09-12 15:00,18\n").unwrap();
    folder
}

/// A runtime on which one thing at a time is worked on that takes long.
fn runtime() -> tokio::runtime::Runtime {
    let mut builder = tokio::runtime::Builder::new_multi_thread();
    builder.worker_threads(2).max_blocking_threads(1).enable_all().build().unwrap()
}

async fn start(disk: Disk, root: &Path) -> Client {
    let mut client = Client::start_from(disk, root, Encoding::Utf8, true).await;
    let document = json!({"uri": client.uri("a.barm"), "languageId": "barm", "version": 1, "text": LOG});
    client.notify("textDocument/didOpen", json!({"textDocument": document})).await;
    client
}

/// Asks something of the log.
async fn ask(client: &mut Client, method: &str) -> i64 {
    let place = json!({"line": 0, "character": 6});
    let params = json!({"textDocument": {"uri": client.uri("a.barm")}, "position": place});
    client.ask(method, params).await
}

async fn answered(client: &mut Client, method: &str) -> Value {
    let id = ask(client, method).await;
    client.answer(id).await.unwrap()
}

async fn cancel(client: &mut Client, id: i64) {
    client.notify("$/cancelRequest", json!({"id": id})).await;
}

#[test]
fn what_is_taken_back_while_it_waits_is_answered_as_such_and_what_was_answered_is_not_answered_again() {
    let runtime = runtime();
    let folder = folder();
    // The workspace is read once this has ended.
    let (go_on, waits) = std::sync::mpsc::channel::<()>();
    runtime.spawn_blocking(move || waits.recv());
    runtime.block_on(async {
        let mut client = start(Disk::OURS, folder.path()).await;
        let (taken_back, kept) =
            (ask(&mut client, "textDocument/hover").await, ask(&mut client, "textDocument/hover").await);
        cancel(&mut client, taken_back).await;
        let why = client.answer(taken_back).await.unwrap_err();
        let code = ErrorCode::RequestCancelled.code();
        assert!(why.contains(&format!("\"code\":{code}")), "{why}");
        go_on.send(()).unwrap();
        let told = client.answer(kept).await.unwrap();
        assert!(told.to_string().contains("slack-1"), "{told}");
        cancel(&mut client, kept).await;
        cancel(&mut client, taken_back).await;
        // A second answer would be a fault of the client's, and one to this.
        assert_eq!(answered(&mut client, "textDocument/hover").await, told);
        client.end().await.unwrap();
    });
}

#[test]
fn a_fault_while_a_workspace_is_read_is_told_and_what_waited_is_answered() {
    let disk = Disk { below: |_, _, _| panic!("the logs are not to be read"), ..Disk::OURS };
    let folder = folder();
    runtime().block_on(async {
        let mut client = start(disk, folder.path()).await;
        let told = answered(&mut client, "textDocument/hover").await;
        assert!(told.to_string().contains("slack-1"), "{told}");
        let id = client.ask("workspace/symbol", json!({"query": ""})).await;
        assert!(client.answer(id).await.unwrap().to_string().contains("slack-1"));
        // What is shown goes out beside the answers, before or after.
        while !client.shown.iter().any(|shown| shown.contains("failed to read the logs")) {
            client.receive().await.unwrap();
        }
        let fault = client.end().await.unwrap_err();
        assert!(fault.contains("while reading a workspace"), "{fault}");
    });
}

#[test]
fn a_fault_while_loggers_are_read_is_told_and_what_waited_is_answered() {
    let disk = Disk { loggers: |_, _, _| panic!("no logger is to be read"), ..Disk::OURS };
    let folder = folder();
    runtime().block_on(async {
        let mut client = start(disk, folder.path()).await;
        let report = answered(&mut client, "textDocument/diagnostic").await;
        let items = report["items"].as_array().unwrap();
        let unread = items.iter().find(|item| item["code"] == "unread-file").unwrap();
        assert!(unread["message"].as_str().unwrap().contains("a fault of barm's own"), "{unread}");
        let fault = client.end().await.unwrap_err();
        assert!(fault.contains("while reading loggers"), "{fault}");
    });
}

#[test]
fn what_cannot_be_read_ends_nothing_and_an_edit_among_it_is_told() {
    runtime().block_on(async {
        let folder = folder();
        let mut client = start(Disk::OURS, folder.path()).await;
        let uri = client.uri("a.barm");
        let place = json!({"line": 0, "character": 6});
        let change = |version: i64, text: &str| {
            let range = json!({"start": place, "end": place});
            let params = json!({"textDocument": {"uri": uri, "version": version},
                "contentChanges": [{"range": range, "text": "?"}]});
            let message = json!({"jsonrpc": "2.0", "method": "textDocument/didChange", "params": params});
            message.to_string().replace("\"?\"", text)
        };
        let document = json!({"uri": uri});
        // Half a character is as long as what stands for it.
        client.send_body(change(2, r#""\ud83c""#).as_bytes()).await;
        let id = client.ask("barm/text", document.clone()).await;
        assert_eq!(client.answer(id).await.unwrap(), json!(LOG.replace("slack", "s\u{fffd}lack")));
        client.send_body(b"[{]").await;
        client.send_body(br#"{"jsonrpc":"1.0","id":99,"method":"textDocument/hover"}"#).await;
        let refused = client.answer(99).await.unwrap_err();
        assert!(refused.contains("-32600"), "{refused}");
        client.faults().unwrap();
        client.send_body(change(3, "1e999").as_bytes()).await;
        let id = client.ask("barm/text", document.clone()).await;
        client.answer(id).await.unwrap();
        assert!(client.faults().unwrap_err().contains("lost step"));
        // What is shown goes out beside the answers, before or after.
        while !client.shown.iter().any(|shown| shown.contains("close it and open it again")) {
            client.receive().await.unwrap();
        }
        let whole = json!({"textDocument": {"uri": uri, "version": 4}, "contentChanges": [{"text": LOG}]});
        client.notify("textDocument/didChange", whole).await;
        let told = answered(&mut client, "textDocument/hover").await;
        assert!(told.to_string().contains("slack-1"), "{told}");
    });
}

/// A client may spell a file's name in another way than the server does that tells of it unasked.
#[test]
fn what_is_found_in_a_file_stands_under_one_of_its_spellings() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("barm.toml"), "").unwrap();
    let log = "brew slack-1\n  hold 18 L\n";
    fs::write(folder.path().join("a+b.barm"), log).unwrap();
    runtime().block_on(async {
        let mut client = Client::start(folder.path(), Encoding::Utf8, false).await;
        let ours = client.uri("a+b.barm");
        let theirs = ours.replace('+', "%2B");
        async fn until_only(client: &mut Client, told: &str, untold: &str) {
            let found = |client: &Client, uri: &str| {
                client
                    .published
                    .get(uri)
                    .is_some_and(|(_, found)| found.as_array().is_some_and(|it| !it.is_empty()))
            };
            while !found(client, told) || found(client, untold) {
                client.receive().await.unwrap();
            }
        }
        until_only(&mut client, &ours, &theirs).await;
        let document = json!({"uri": theirs, "languageId": "barm", "version": 1, "text": log});
        client.notify("textDocument/didOpen", json!({"textDocument": document})).await;
        until_only(&mut client, &theirs, &ours).await;
        client.notify("textDocument/didClose", json!({"textDocument": {"uri": theirs}})).await;
        until_only(&mut client, &ours, &theirs).await;
        client.end().await.unwrap();
    });
}
