//! Classes to try: the invented community classes of Harbour Hall.

/// Plan files, embedded; each is checked by the tests.
pub const DEMOS: [&str; 3] = [
    include_str!("harbour-lunch.json"),
    include_str!("quay-pyramid.json"),
    include_str!("chair-class.json"),
];
