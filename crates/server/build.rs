//! Sees to it that there are pages to embed: where the front end was not built, one that says so.

use std::path::Path;

/// Stands in for the pages until they are built.
const FALLBACK: &str = "<!doctype html>
<html lang=\"en\">
<head><meta charset=\"utf-8\"><title>meltrange</title></head>
<body>
<h1>The pages are not built yet</h1>
<p>The program runs and its interface answers under <a href=\"/openapi.json\">/openapi.json</a>,
but it was compiled without its pages. Build them with <code>npm ci</code> and <code>npm run build</code>
in the folder <code>ui</code>, then compile again.</p>
</body>
</html>
";

fn main() {
    let pages = Path::new("../../ui/dist");
    let first = pages.join("index.html");
    if !first.exists() {
        std::fs::create_dir_all(pages)
            .and_then(|()| std::fs::write(&first, FALLBACK))
            .expect("the folder ui/dist can be written where the program is compiled");
    }
    println!("cargo:rerun-if-changed=../../ui/dist");
}
