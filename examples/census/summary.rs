//! Which triads clash, are plain or colour, by family.

use std::process::ExitCode;

use overshell::census::CensusSummary;
use overshell::chord::Family;
use overshell::picture::{SharesOptions, shares};
use overshell::sheet::write_file;

use crate::arguments::Arguments;
use crate::asked::Asked;
use crate::failure::{Failure, Result};

pub(crate) fn tell(arguments: &Arguments, asked: &Asked) -> Result<ExitCode> {
    let ranges = asked.filter.ranges(&asked.census, asked.range.clone());
    let summary = CensusSummary::new(&asked.census, &asked.rules, ranges)?;
    let families: Vec<Family> =
        Family::ALL.into_iter().filter(|family| summary.of_family(*family).all() > 0).collect();
    say!("of 100 combinations, how many colour / are plain / clash, by triad and family of the chord\n");
    let heading = families.iter().map(|family| format!("{:>17}", family.as_str()));
    say!("{:8}{}{:>17}", "triad", heading.collect::<String>(), "all");
    for label in summary.labels() {
        let of = families.iter().map(|family| summary.of(*label, *family));
        let cells = of.chain([summary.of_label(*label)]).map(|counts| {
            let [colour, plain, clash] = counts.hundredths();
            if counts.all() == 0 {
                format!("{:>17}", "-")
            } else {
                format!("{:>17}", format!("{colour:3} /{plain:3} /{clash:3}"))
            }
        });
        say!("{:8}{}", label, cells.collect::<String>());
    }
    let total = summary.total();
    say!(
        "\n{} combinations: {} colour, {} are plain, {} clash",
        total.all(),
        total.colour,
        total.plain,
        total.clash
    );
    if let Some(path) = &arguments.svg {
        let columns: Vec<String> = families.iter().map(ToString::to_string).collect();
        let rows: Vec<String> = summary.labels().iter().map(ToString::to_string).collect();
        let cell = |row: usize, column: usize| {
            let of = summary.labels().get(row).zip(families.get(column));
            of.map_or([0; 3], |(label, family)| {
                let counts = summary.of(*label, *family);
                [counts.colour, counts.plain, counts.clash]
            })
        };
        let heading = format!("Triads by family of the chord, rules `{}`", asked.rules.name());
        let options = SharesOptions { heading, ..SharesOptions::default() };
        let picture = shares(&rows, &columns, cell, &options);
        write_file(path, picture.as_bytes()).map_err(Failure::unwritten)?;
        say!("{}", path.display());
    }
    Ok(ExitCode::SUCCESS)
}
