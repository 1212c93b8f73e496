//! Rule files on top of one another, each laid down once, and the set that they make.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::RuleSet;
use super::read::{File, LARGEST_FILE};
use crate::error::{Error, Kind as ErrorKind, Result};
use crate::rules::embedded;
use crate::rules::format::{Faults, suggestion};
use crate::rules::rule::Rule;

/// What a file is known by, so that it is laid down once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::rules) enum Identity {
    Shipped(String),
    Path(PathBuf),
    Text,
}

/// How deep files may extend one another.
const DEEPEST: usize = 16;
/// More rules than these cannot be numbered on the hot path.
const MOST_RULES: usize = 20_000;
pub(super) fn identity(path: &Path) -> Identity {
    Identity::Path(path.canonicalize().unwrap_or_else(|_| path.to_owned()))
}

pub(super) fn read_file(path: &Path) -> Result<Draft> {
    let name = path.display().to_string();
    // One byte more than the limit is enough to see that it is exceeded.
    let limit = u64::try_from(LARGEST_FILE).unwrap_or(u64::MAX).saturating_add(1);
    let mut bytes = Vec::new();
    // Only files: a pipe would be waited for.
    let open = std::fs::metadata(path).and_then(|about| match about.is_file() {
        true => std::fs::File::open(path),
        false => Err(std::io::Error::other("it is no file")),
    });
    open.and_then(|file| file.take(limit).read_to_end(&mut bytes))
        .map_err(|e| Error::new(ErrorKind::Io, format!("cannot read `{name}`: {e}")))?;
    let text = String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let line = e.as_bytes().iter().take(at).filter(|byte| **byte == b'\n').count() + 1;
        Error::new(ErrorKind::Rules, format!("rule file `{name}`: line {line} is not UTF-8"))
            .with_help("save the file as UTF-8")
    })?;
    File::read(&name, &text)
}

/// Files on top of one another, each once, with all that is wrong with them.
#[derive(Default)]
pub(super) struct Pile {
    files: Vec<Arc<File>>,
    /// From which on they are the set's own, whose cases count.
    own: Vec<bool>,
    laid: Vec<Identity>,
    /// The files of the folder, which need not extend one another.
    pub(super) siblings: Vec<Identity>,
    /// The files that are being laid down, for circles.
    open: Vec<(Identity, String)>,
    pub(super) errors: Vec<Error>,
    /// Whether something that is extended could not be laid down.
    pub(super) broken: bool,
}

/// A file as read, with what is wrong with it.
pub(super) type Draft = (File, Vec<Error>);

impl Pile {
    /// On top of a set, whose files lie there already.
    pub(super) fn over(base: &RuleSet) -> Self {
        Self { laid: base.made_of.clone(), ..Self::default() }
    }

    /// Lays down what a file of the set's own extends, and the file.
    pub(super) fn own(&mut self, (file, errors): Draft, identity: Identity, folder: Option<&Path>) {
        self.broken |= !errors.is_empty();
        self.errors.extend(errors);
        self.lay_own(Arc::new(file), identity, folder);
    }

    pub(super) fn lay_own(&mut self, file: Arc<File>, identity: Identity, folder: Option<&Path>) {
        self.lay_below(&file, &identity, folder, &|_| true);
        self.push(file, identity, true);
    }

    pub(super) fn push(&mut self, file: Arc<File>, identity: Identity, own: bool) {
        self.laid.push(identity);
        self.files.push(file);
        self.own.push(own);
    }

    /// Lays down what the file extends, as far as it is wanted.
    pub(super) fn lay_below(
        &mut self,
        file: &File,
        identity: &Identity,
        folder: Option<&Path>,
        wanted: &dyn Fn(&str) -> bool,
    ) {
        self.open.push((identity.clone(), file.text.name.clone()));
        let mut faults = file.faults();
        for (span, name) in file.extends.iter().filter(|(_, name)| wanted(name)) {
            match self.extended(name, folder, &mut faults, span.clone()) {
                Some(Ok((below, identity, folder))) => {
                    self.lay_below(&below, &identity, folder.as_deref(), &|_| true);
                    self.push(below, identity, false);
                }
                Some(Err(error)) => {
                    self.errors.extend(error.into_all());
                    self.broken = true;
                }
                None => {}
            }
        }
        self.open.pop();
        let faults = faults.into_found();
        self.broken |= !faults.is_empty();
        self.errors.extend(faults);
    }

    /// The file that is meant; `None` where there is nothing to lay down, because it lies there or because of a fault.
    #[expect(clippy::type_complexity, reason = "a file with its identity and folder, used once")]
    fn extended(
        &self,
        wanted: &str,
        folder: Option<&Path>,
        faults: &mut Faults<'_>,
        span: std::ops::Range<usize>,
    ) -> Option<Result<(Arc<File>, Identity, Option<PathBuf>)>> {
        let shown = crate::pitch::shown(wanted);
        let shipped = Identity::Shipped(wanted.to_owned());
        let path = folder.map(|folder| folder.join(wanted));
        let is_path = wanted.ends_with(".toml");
        let identity = match &path {
            Some(path) if is_path => identity(path),
            _ => shipped,
        };
        if let Some(at) = self.open.iter().position(|(open, _)| *open == identity) {
            let circle =
                self.open.get(at..).unwrap_or_default().iter().skip(1).map(|(_, name)| format!("`{name}`"));
            let through = itertools::join(circle, ", which extends ");
            let message = match through.as_str() {
                "" => "the file extends itself".to_owned(),
                through => format!("`{shown}` extends {through}, which extends it again: a circle"),
            };
            faults.add(span, message, "leave one of the two out of `extends`");
            return None;
        }
        if self.laid.contains(&identity) || self.siblings.contains(&identity) {
            return None;
        }
        if self.open.len() >= DEEPEST {
            faults.add(
                span,
                format!("more than {DEEPEST} files extend one another"),
                "put some of them together",
            );
            return None;
        }
        match (path, embedded::file(wanted)) {
            (_, Some(file)) => Some(file.map(|file| (file, identity, None))),
            (Some(path), None) if is_path => match read_file(&path) {
                Ok((file, errors)) => match Error::of_all(errors) {
                    Some(error) => Some(Err(error)),
                    None => Some(Ok((Arc::new(file), identity, path.parent().map(Path::to_owned)))),
                },
                Err(error) if error.is_io() => {
                    faults.add(span, error.to_string(), "give a path from the folder of this file");
                    None
                }
                Err(error) => Some(Err(error)),
            },
            (None, None) if is_path => {
                faults.add(
                    span,
                    format!("`{shown}` is a file, and a text has no folder to look in"),
                    "extend a set that ships, or read the text from a file",
                );
                None
            }
            _ => {
                faults.add(
                    span,
                    format!("there is no rule set `{shown}`"),
                    format!("{}; a file ends in `.toml`", suggestion(wanted, embedded::names())),
                );
                None
            }
        }
    }

    /// What the set's own files say differently from one another.
    pub(super) fn quarrels(&self) -> Vec<Error> {
        let own = || self.files.iter().zip(&self.own).filter(|(_, own)| **own).map(|(file, _)| file);
        let mut errors = Vec::new();
        let mut homes: BTreeMap<&str, &Rule> = BTreeMap::new();
        for rule in own().flat_map(|file| &file.rules) {
            if let Some(earlier) = homes.insert(&rule.id, rule) {
                let place =
                    |rule: &Rule| rule.origin.as_ref().map(|origin| origin.place()).unwrap_or_default();
                let message = format!(
                    "there are two rules `{}` in this folder, in {} and {}",
                    rule.id,
                    place(earlier),
                    place(rule)
                );
                let error = Error::new(ErrorKind::Rules, message).with_help("give one of them another id");
                errors.push(match &rule.origin {
                    Some(origin) => error.with_excerpt(origin.excerpt()),
                    None => error,
                });
            }
        }
        for (key, value) in [
            ("colour-threshold", (|file: &File| file.threshold) as fn(&File) -> Option<i32>),
            ("colour-enough", |file: &File| file.enough),
        ] {
            let mut said = own().filter_map(|file| Some((file, value(file)?)));
            let first = said.next();
            let other = said.find(|(_, points)| first.is_some_and(|(_, first)| first != *points));
            if let (Some((one, here)), Some((two, there))) = (first, other) {
                let message =
                    format!("`{key}` is {here} in `{}` and {there} in `{}`", one.text.name, two.text.name);
                errors.push(Error::new(ErrorKind::Rules, message).with_help("say it in one of the files"));
            }
        }
        errors
    }

    /// Puts the files on top of a set: same id replaces in place, others are added behind.
    pub(super) fn into_set(self, base: Option<&RuleSet>) -> Result<RuleSet> {
        let mut set = RuleSet {
            name: String::new(),
            threshold: base.and_then(|base| base.threshold),
            enough: base.and_then(|base| base.enough),
            rules: Vec::new(),
            made_of: self.laid,
        };
        let mut errors = self.errors;
        let mut stack = Stack::over(base, self.broken);
        let (own, below): (Vec<_>, Vec<_>) = self.files.into_iter().zip(self.own).partition(|(_, own)| *own);
        for (file, _) in below {
            errors.extend(stack.switch_off(&file));
            set.take_settings(&file);
            stack.add(file, false);
        }
        // What the own files switch off lies below all of them.
        for (file, _) in &own {
            errors.extend(stack.switch_off(file));
        }
        for (file, _) in own {
            set.take_settings(&file);
            stack.add(file, true);
        }
        set.rules = stack.slots.into_iter().flatten().collect();
        if set.rules.len() > MOST_RULES {
            let message = format!("the set has {} rules, the limit is {MOST_RULES}", set.rules.len());
            return Err(Error::new(ErrorKind::Limit, message).with_help("leave some out"));
        }
        Error::of_all(in_order(errors)).map_or(Ok(set), Err)
    }
}

impl RuleSet {
    fn take_settings(&mut self, file: &File) {
        self.name.clone_from(&file.name);
        self.threshold = file.threshold.or(self.threshold);
        self.enough = file.enough.or(self.enough);
    }
}

/// The rules on top of one another.
struct Stack {
    slots: Vec<Option<Rule>>,
    /// Where the rule of an id lies.
    places: HashMap<String, usize>,
    /// What has been switched off.
    gone: HashSet<String>,
    /// Whether something could not be laid down.
    broken: bool,
}

impl Stack {
    fn over(base: Option<&RuleSet>, broken: bool) -> Self {
        let below = base.map_or(&[] as &[Rule], |base| &base.rules);
        let untested = |rule: &Rule| Some(Rule { cases: Vec::new(), ..rule.clone() });
        Self {
            slots: below.iter().map(untested).collect(),
            places: below.iter().map(|rule| rule.id.clone()).zip(0..).collect(),
            gone: HashSet::new(),
            broken,
        }
    }

    fn switch_off(&mut self, file: &File) -> Vec<Error> {
        let mut faults = file.faults();
        for (span, id) in &file.off {
            match self.places.remove(id).and_then(|at| self.slots.get_mut(at)) {
                Some(slot) => {
                    *slot = None;
                    self.gone.insert(id.clone());
                }
                // It may be in what could not be laid down, or another file has switched it off already.
                None if self.broken || self.gone.contains(id) || faults.is_full() => {}
                None => faults.add(
                    span.clone(),
                    format!("there is no rule `{}` to switch off", crate::pitch::shown(id)),
                    match self.places.is_empty() {
                        true => "nothing lies below: name in `extends` what it is a rule of".to_owned(),
                        false => suggestion(id, self.slots.iter().flatten().map(|rule| &rule.id)),
                    },
                ),
            }
        }
        faults.into_found()
    }

    fn add(&mut self, file: Arc<File>, own: bool) {
        // A file that ships is kept for others, all else is read for this set alone.
        let rules = Arc::try_unwrap(file).map_or_else(|shared| shared.rules.clone(), |file| file.rules);
        for mut rule in rules {
            if !own {
                // Its cases hold for the set as it ships; what stands on top may well change them.
                rule.cases.clear();
            }
            match self.places.get(&rule.id).and_then(|at| self.slots.get_mut(*at)) {
                Some(slot) => *slot = Some(rule),
                None => {
                    self.places.insert(rule.id.clone(), self.slots.len());
                    self.slots.push(Some(rule));
                }
            }
        }
    }
}

/// Errors file by file, in the order of their places.
fn in_order(mut errors: Vec<Error>) -> Vec<Error> {
    let name = |error: &Error| error.excerpt().and_then(|excerpt| excerpt.name()).map(str::to_owned);
    let mut files: Vec<Option<String>> = Vec::new();
    for error in &errors {
        if !files.contains(&name(error)) {
            files.push(name(error));
        }
    }
    errors.sort_by_cached_key(|error| {
        let place = error.excerpt().map(|excerpt| (excerpt.line_number(), excerpt.column()));
        (files.iter().position(|file| *file == name(error)), place)
    });
    errors
}
