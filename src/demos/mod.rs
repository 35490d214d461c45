//! Classes to try: the invented community classes of Harbour Hall.
//!
//! They are written as plan files and embedded as the texts of their links, which take a quarter of
//! the room. A test holds each against its file, and writes it anew when it is asked to.

/// The link texts of the classes.
pub const DEMOS: [&str; 3] = [
    include_str!("harbour-lunch.link"),
    include_str!("quay-pyramid.link"),
    include_str!("chair-class.link"),
];

#[cfg(test)]
mod tests {
    use crate::link::{decode, encode};
    use crate::plan::Plan;

    /// `RUNGBOOK_WRITE_LINKS=1 cargo test demos` writes the links of changed files.
    #[test]
    fn each_link_is_that_of_its_file() {
        for name in ["harbour-lunch", "quay-pyramid", "chair-class"] {
            let path = format!("{}/src/demos/{name}", env!("CARGO_MANIFEST_DIR"));
            let file = std::fs::read_to_string(format!("{path}.json")).expect("the plan file");
            let plan = Plan::from_json(&file).expect("a good plan");
            let link = format!("{path}.link");
            if std::env::var_os("RUNGBOOK_WRITE_LINKS").is_some() {
                std::fs::write(&link, encode(&plan)).expect("the link is written");
            }
            let text = std::fs::read_to_string(&link).expect("the link");
            assert_eq!(decode(&text), Ok(plan), "{name}: write the links anew");
        }
    }
}
