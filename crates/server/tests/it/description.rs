//! The committed description is the one that the routes give.

/// From the program's own routes, as `meltrange openapi` prints it.
fn current() -> String {
    let mut text = meltrange_server::description()
        .to_pretty_json()
        .expect("a description is JSON");
    text.push('\n');
    text
}

#[test]
fn the_committed_description_is_current() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../ui/openapi.json");
    let committed = std::fs::read_to_string(path).expect("ui/openapi.json is committed");
    assert!(
        committed == current(),
        "ui/openapi.json is not what the routes give; write it anew with: meltrange openapi > ui/openapi.json"
    );
}
