//! Words laid out for a terminal: lines of at most 88 letters.

use super::{Row, Table};

/// The longest line, in letters.
const LONGEST: usize = 88;
/// Names of rows share one column of at least so many letters, and of at most so many.
const NAMES: [usize; 2] = [9, 32];

/// Returns a text after its mark, in lines of at most 88 letters, the later ones set in as far as the first.
pub fn wrapped(mark: &str, text: &str) -> String {
    let (mut lines, mut line) = (String::new(), mark.to_owned());
    for word in text.split(' ') {
        if line.chars().count() + word.chars().count() > LONGEST
            && line.trim().len() > mark.trim().len()
        {
            lines += line.trim_end();
            lines.push('\n');
            line = " ".repeat(mark.chars().count());
        }
        line += word;
        line.push(' ');
    }
    lines + line.trim_end()
}

/// Returns the rows beneath each other, their names in one column. Each line ends with a line feed.
pub fn rows(rows: &[Row]) -> String {
    let longest = rows.iter().map(|row| row.name.chars().count()).max().unwrap_or(0);
    let wide = longest.clamp(NAMES[0], NAMES[1]);
    let line = |row: &Row| wrapped(&format!("  {:<wide$}  ", row.name), &row.sentence) + "\n";
    rows.iter().map(line).collect()
}

/// Returns a table with its headings, each column as wide as its widest cell. Each line ends with a line
/// feed.
pub fn table(table: &Table) -> String {
    let headings: Vec<String> =
        table.columns.iter().map(|column| column.heading.to_owned()).collect();
    let lines: Vec<&Vec<String>> = std::iter::once(&headings).chain(&table.rows).collect();
    let wide = |i: usize| {
        lines.iter().filter_map(|cells| cells.get(i)).map(|cell| cell.chars().count()).max()
    };
    let widths: Vec<usize> =
        (0..table.columns.len()).map(|i| wide(i).unwrap_or_default()).collect();
    let line = |cells: &&Vec<String>| {
        let mut line = String::new();
        for ((cell, column), wide) in cells.iter().zip(&table.columns).zip(&widths) {
            line += "  ";
            line +=
                &if column.is_number { format!("{cell:>wide$}") } else { format!("{cell:<wide$}") };
        }
        line.trim_end().to_owned() + "\n"
    };
    lines.iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::super::Column;
    use super::*;

    #[test]
    fn a_long_text_is_set_in_under_its_mark() {
        let text = ["word"; 40].join(" ");
        let laid = wrapped("  Note  ", &text);
        assert!(laid.lines().all(|line| line.chars().count() <= LONGEST), "{laid}");
        assert!(laid.lines().skip(1).all(|line| line.starts_with("        word")), "{laid}");
        assert_eq!(laid.split_whitespace().count(), 41);
        // A word longer than a line is not broken.
        assert_eq!(wrapped("- ", &"x".repeat(100)), format!("- {}", "x".repeat(100)));
    }

    #[test]
    fn a_table_is_as_wide_as_its_cells() {
        let columns = vec![Column::numbers("hole"), Column::words("size"), Column::words("advice")];
        let row = |cells: [&str; 3]| cells.map(str::to_owned).to_vec();
        let rows = vec![row(["1", "0.3 ± 0.1 mm", "stop"]), row(["12", "", "go on"])];
        let laid = table(&Table { columns, rows });
        let lines: Vec<&str> = laid.lines().collect();
        assert_eq!(lines[0], "  hole  size          advice");
        assert_eq!(lines[1], "     1  0.3 ± 0.1 mm  stop");
        assert_eq!(lines[2], "    12                go on");
    }
}
