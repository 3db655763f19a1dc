//! The page round the sections: its style, tables, and the one way by which text gets in.

use crate::fault::{harmless, no_markup};

const STYLE: &str = include_str!("sheet.css");

/// A text of a script, or any other, in which nothing is markup.
pub(super) fn text(text: &str) -> String {
    no_markup(&harmless(text))
}

/// A text that tells a figure: one from memory, or one that its source leaves open, is marked to be checked.
pub(super) fn told(figure: &str) -> String {
    let doubtful = figure.contains("from memory") || figure.contains(" ?");
    let mark = if doubtful {
        " <b class=\"doubt\">check before use</b>"
    } else {
        ""
    };
    format!("{}{mark}", text(figure))
}

/// The whole file.
pub(super) fn page(title: &str, body: &str) -> String {
    let title = text(title);
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n\
         <title>{title}: shop sheet</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n{body}</body>\n</html>\n"
    )
}

/// A section with its heading; `id` is one word.
pub(super) fn section(id: &str, heading: &str, body: &str) -> String {
    format!(
        "<section id=\"{id}\">\n<h2>{}</h2>\n{body}</section>\n",
        text(heading)
    )
}

/// A table: heads are text, cells are HTML already. A head that begins with `#` stands over numbers; a row of one cell is
/// a band across the table.
pub(super) fn table(heads: &[&str], rows: &[Vec<String>]) -> String {
    let class = |head: &str| {
        if head.starts_with('#') {
            " class=\"n\""
        } else {
            ""
        }
    };
    let mut out = String::from("<div class=\"wide\"><table>\n<thead><tr>");
    for head in heads {
        let name = text(head.trim_start_matches('#'));
        out += &format!("<th{}>{name}</th>", class(head));
    }
    out += "</tr></thead>\n<tbody>\n";
    for row in rows {
        if let [band] = &row[..] {
            let count = heads.len();
            out += &format!("<tr class=\"band\"><td colspan=\"{count}\">{band}</td></tr>\n");
            continue;
        }
        out += "<tr>";
        for (head, cell) in heads.iter().zip(row) {
            out += &format!("<td{}>{cell}</td>", class(head));
        }
        out += "</tr>\n";
    }
    out + "</tbody>\n</table></div>\n"
}

/// A place to write in.
pub(super) const BLANK: &str = "<span class=\"write\"></span>";

/// A paragraph of text.
pub(super) fn line(words: &str) -> String {
    format!("<p>{}</p>\n", text(words))
}

/// A figure with its name under it, large.
pub(super) fn big(value: &str, name: &str) -> String {
    format!(
        "<div class=\"big\"><b>{}</b><span>{}</span></div>\n",
        text(value),
        text(name)
    )
}
