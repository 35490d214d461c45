//! Comma-separated values, RFC 4180.

/// Rows of cells as a CSV text: CRLF after each row, quotes where a cell needs them.
///
/// A cell that a spreadsheet would take for a formula gets an apostrophe before it: names and notes
/// come from links and files of strangers.
///
/// ```
/// use rungbook::export::csv;
/// let row = |cells: [&str; 2]| cells.map(str::to_owned).to_vec();
/// assert_eq!(csv(&[row(["a", "b \"q\", c"]), row(["1", ""])]), "a,\"b \"\"q\"\", c\"\r\n1,\r\n");
/// assert_eq!(csv(&[row(["=1+1", "-2"])]), "'=1+1,-2\r\n");
/// ```
#[must_use]
pub fn csv(rows: &[Vec<String>]) -> String {
    let mut text = String::new();
    for row in rows {
        for (i, cell) in row.iter().enumerate() {
            if i > 0 {
                text.push(',');
            }
            let formula =
                cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err();
            let safe = if formula {
                format!("'{cell}")
            } else {
                cell.clone()
            };
            if safe.contains([',', '"', '\r', '\n']) {
                text.push('"');
                text.push_str(&safe.replace('"', "\"\""));
                text.push('"');
            } else {
                text.push_str(&safe);
            }
        }
        text.push_str("\r\n");
    }
    text
}
