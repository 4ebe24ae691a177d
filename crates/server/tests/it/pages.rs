//! The pages themselves: any address that is none of the interface, under a strict policy.

use crate::workshop::{Served, wait};
use axum::body::Body;

#[test]
fn any_other_address_is_the_first_page_under_a_strict_policy() {
    wait(async {
        let served = Served::new().await;
        let first = served.get("/").await;
        assert_eq!(first.status, 200);
        assert_eq!(first.header("content-type"), "text/html; charset=utf-8");
        for path in [
            "/samples",
            "/a/b/c",
            "/..%2f..%2fbook.sqlite",
            "/book.sqlite",
        ] {
            let page = served.get(path).await;
            assert_eq!(
                (page.status.as_u16(), &page.bytes),
                (200, &first.bytes),
                "{path}"
            );
        }
        served.get("/assets/none.js").await.problem(404, "unknown");
        let policy = first.header("content-security-policy");
        for part in [
            "default-src 'none'",
            "script-src 'self';",
            "frame-ancestors 'none'",
            "connect-src 'self'",
        ] {
            assert!(policy.contains(part), "{policy}");
        }
        assert!(!policy.contains("unsafe"), "{policy}");
        let page = String::from_utf8_lossy(&first.bytes).to_lowercase();
        for script in page.split("<script").skip(1) {
            assert!(
                script.contains("src="),
                "no script stands in the page itself"
            );
        }
        let known = served
            .request("GET", "/")
            .header("if-none-match", first.header("etag"))
            .body(Body::empty())
            .expect("a request");
        let known = served.send(known).await;
        assert_eq!((known.status.as_u16(), known.bytes.len()), (304, 0));
        let post = served
            .request("POST", "/")
            .body(Body::empty())
            .expect("a request");
        served.send(post).await.problem(405, "method");
    });
}

#[test]
fn pages_and_answers_are_compressed_and_pictures_are_not() {
    wait(async {
        let served = Served::new().await;
        let request = served
            .request("GET", "/openapi.json")
            .header("accept-encoding", "br, gzip")
            .body(Body::empty())
            .expect("a request");
        let packed = served.send(request).await;
        assert_eq!(packed.header("content-encoding"), "br");
        let plain = served.get("/openapi.json").await;
        assert!(packed.bytes.len() * 3 < plain.bytes.len());
        assert_eq!(plain.expect(200)["openapi"], "3.1.0");
    });
}
