//! A page for the browser and for paper: one file that asks for nothing else.

use std::fmt::{Display, Write};

use overshell::sheet::CAUTION;

/// For screens and for paper, A4 and Letter alike: 186 mm across at least, so that three pictures of 60 mm stand beside each other.
const STYLE: &str = "
@page { margin: 12mm; }
:root { color-scheme: light; }
body { font: 11pt/1.4 'DejaVu Sans', Verdana, Arial, Helvetica, sans-serif; color: #000; background: #fff; max-width: 184mm; margin: 0 auto; padding: 8mm 4mm; }
h1 { font-size: 18pt; margin: 0 0 3mm; }
h2 { font-size: 14pt; margin: 6mm 0 3mm; break-after: avoid; }
.caution { border: 0.4mm solid #000; padding: 2mm 3mm; margin: 3mm 0.4mm; font-size: 9pt; }
.keys { display: flex; flex-wrap: wrap; gap: 1mm 5mm; list-style: none; padding: 0; margin: 3mm 0; }
.keys a { color: inherit; }
figure { display: inline-block; vertical-align: top; margin: 0 0 3mm; width: 60mm; break-inside: avoid; }
figure svg { display: block; width: 60mm; height: auto; }
figcaption { font-size: 8.5pt; line-height: 1.3; padding: 1mm; }
table { border-collapse: collapse; width: 100%; font-size: 9pt; line-height: 1.25; }
caption { text-align: left; font-size: 9pt; padding-bottom: 1mm; }
th, td { border-bottom: 0.2mm solid #555; padding: 0.4mm 1.5mm; text-align: left; vertical-align: top; }
tr { break-inside: avoid; }
thead { display: table-header-group; }
@media print {
  body { max-width: none; padding: 0; }
  section + section { break-before: page; }
  .keys a { text-decoration: none; }
}
";

/// A page being written.
pub(crate) struct Page {
    out: String,
    pictures: usize,
}

impl Page {
    /// A page with its heading, the usual caution, what there is to say first, and the list of its sections.
    pub(crate) fn new(title: &str, words: &str, sections: &[String]) -> Self {
        let mut page = Self { out: String::new(), pictures: 0 };
        page.put("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
        page.put("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
        page.put(format_args!("<title>{}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n", Safe(title)));
        page.put(format_args!("<header>\n<h1>{}</h1>\n", Safe(title)));
        page.put(format_args!("<p class=\"caution\">{}</p>\n<p>{}</p>\n", Safe(CAUTION), Safe(words)));
        page.put("<nav aria-label=\"Keys\">\n<ol class=\"keys\">\n");
        for (at, section) in sections.iter().enumerate() {
            page.put(format_args!("<li><a href=\"#part-{at}\">{}</a></li>\n", Safe(section)));
        }
        page.put("</ol>\n</nav>\n</header>\n<main>\n");
        page
    }

    fn put(&mut self, text: impl Display) {
        // Writing into a text cannot fail.
        let _ = write!(self.out, "{text}");
    }

    /// Begins a section, by its place in the list from 0.
    pub(crate) fn section(&mut self, at: usize, heading: &str) {
        self.put(format_args!("<section id=\"part-{at}\" aria-labelledby=\"part-{at}-heading\">\n"));
        self.put(format_args!("<h2 id=\"part-{at}-heading\">{}</h2>\n", Safe(heading)));
    }

    /// Ends it.
    pub(crate) fn end_section(&mut self) {
        self.put("</section>\n");
    }

    /// Begins a group of pictures.
    pub(crate) fn pictures(&mut self) {
        self.put("<div class=\"pictures\">\n");
    }

    /// Ends it.
    pub(crate) fn end_pictures(&mut self) {
        self.put("</div>\n");
    }

    /// A picture, where there is one, with what is written below: the first line bold.
    pub(crate) fn figure(&mut self, svg: Option<&str>, bold: &str, lines: &[String]) {
        self.put("<figure>\n");
        if let Some(svg) = svg {
            self.pictures += 1;
            let inline = inline(svg, self.pictures);
            self.put(inline);
        }
        self.put(format_args!("<figcaption><strong>{}</strong>", Safe(bold)));
        for line in lines.iter().filter(|line| !line.is_empty()) {
            self.put(format_args!("<br>{}", Safe(line)));
        }
        self.put("</figcaption>\n</figure>\n");
    }

    /// A table; the first cell of each row is its heading.
    pub(crate) fn table(&mut self, caption: &str, columns: &[&str], rows: &[Vec<String>]) {
        self.put(format_args!("<table>\n<caption>{}</caption>\n<thead>\n<tr>", Safe(caption)));
        for column in columns {
            self.put(format_args!("<th scope=\"col\">{}</th>", Safe(column)));
        }
        self.put("</tr>\n</thead>\n<tbody>\n");
        for row in rows {
            self.put("<tr>");
            for (at, cell) in row.iter().enumerate() {
                let (open, close) = if at == 0 { ("<th scope=\"row\">", "</th>") } else { ("<td>", "</td>") };
                self.put(format_args!("{open}{}{close}", Safe(cell)));
            }
            self.put("</tr>\n");
        }
        self.put("</tbody>\n</table>\n");
    }

    /// A sentence.
    pub(crate) fn words(&mut self, words: &str) {
        self.put(format_args!("<p>{}</p>\n", Safe(words)));
    }

    /// The whole page.
    pub(crate) fn finish(mut self) -> String {
        self.put("</main>\n</body>\n</html>\n");
        self.out
    }
}

/// A picture as a part of the page: no name space, which HTML knows, and names of its own, since the same picture may
/// stand on a page twice.
fn inline(svg: &str, count: usize) -> String {
    let svg = svg.replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1);
    let behind = svg.split_once("aria-labelledby=\"").map(|(_, behind)| behind);
    match behind.and_then(|behind| behind.split_once("-title")) {
        Some((name, _)) => svg
            .replace(&format!("\"{name}-"), &format!("\"picture-{count}-"))
            .replace(&format!(" {name}-"), &format!(" picture-{count}-")),
        None => svg,
    }
}

/// A text that cannot be taken for a tag.
struct Safe<'a>(&'a str);

impl Display for Safe<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.chars().try_for_each(|c| match c {
            '&' => f.write_str("&amp;"),
            '<' => f.write_str("&lt;"),
            '>' => f.write_str("&gt;"),
            '"' => f.write_str("&quot;"),
            c if c.is_control() => f.write_char(' '),
            c => f.write_char(c),
        })
    }
}
