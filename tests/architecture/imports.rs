//! What each source file imports from the others, read from the syntax tree of the code.
//!
//! A name is followed through `use`, `pub use` and globs to the file that defines it. So a module that only passes
//! names on does not count as the one they depend on.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use proc_macro2::{Delimiter, TokenStream, TokenTree};
use syn::spanned::Spanned;
use syn::visit::{self, Visit};

/// The crate as a map of its modules, with the names that each file uses.
pub struct Sources {
    modules: BTreeMap<ModulePath, Module>,
    /// The names that each file uses, in the order of the text; paths are relative to `src`.
    pub files: BTreeMap<String, File>,
}

type ModulePath = Vec<String>;

#[derive(Default)]
pub struct File {
    pub lines: usize,
    mentions: Vec<Mention>,
    /// Calls of macros and methods, outside of test code.
    pub calls: Vec<Call>,
}

/// A macro (`panic!`) or a method (`.unwrap`) that is called.
pub struct Call {
    pub name: String,
    pub line: usize,
    /// Whether it is in a `const fn`.
    pub constant: bool,
}

struct Mention {
    module: ModulePath,
    path: Vec<String>,
    line: usize,
    test: bool,
    /// Whether it is a `pub use`, which passes a name on.
    passes_on: bool,
}

#[derive(Default)]
struct Module {
    file: String,
    /// A module and a function may share a name.
    names: BTreeMap<String, Vec<Name>>,
    globs: Vec<Vec<String>>,
}

#[derive(Clone)]
enum Name {
    Defined,
    Module,
    /// Brought in by a `use`, with its path as written.
    Used(Vec<String>),
}

/// A name of one file that is defined in another.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Import {
    pub from: String,
    pub to: String,
    /// The room of the crate that the path names; it may pass the name on from another.
    pub through: Option<String>,
    pub line: usize,
    /// Whether it is in test code.
    pub test: bool,
}

/// A path that leads out of the crate.
pub struct Outside {
    pub path: Vec<String>,
    pub file: String,
    pub line: usize,
}

enum Target {
    Module(ModulePath),
    Item(String),
}

impl Sources {
    /// Reads the crate below `root`, beginning at its `lib.rs`.
    pub fn read(root: &Path) -> Self {
        let mut sources = Self {
            modules: BTreeMap::new(),
            files: BTreeMap::new(),
        };
        sources.read_file(root, &root.join("lib.rs"), Vec::new(), false);
        sources
    }

    /// All imports between files of the crate; a file does not import itself.
    pub fn imports(&self) -> BTreeSet<Import> {
        let mut found = BTreeSet::new();
        for (file, content) in &self.files {
            for mention in content.mentions.iter().filter(|m| !m.passes_on) {
                let Some(to) = self.file_of(&mention.module, &mention.path) else {
                    continue;
                };
                if to != *file {
                    found.insert(Import {
                        from: file.clone(),
                        to,
                        through: self.through(&mention.module, &mention.path, 0),
                        line: mention.line,
                        test: mention.test,
                    });
                }
            }
        }
        found
    }

    /// All paths that name another crate, outside of test code.
    pub fn outside(&self) -> Vec<Outside> {
        let mut found = Vec::new();
        for (file, content) in &self.files {
            for mention in content.mentions.iter().filter(|m| !m.test) {
                let path = self.written_out(&mention.module, &mention.path);
                let first = path[0].as_str();
                if path.len() > 1
                    && first.starts_with(|c: char| c.is_ascii_lowercase())
                    && !PRIMITIVES.contains(&first)
                    && !matches!(first, "crate" | "self" | "super")
                    && self.resolve(&mention.module, &path, 0).is_none()
                {
                    found.push(Outside {
                        path,
                        file: file.clone(),
                        line: mention.line,
                    });
                }
            }
        }
        found
    }

    /// The module of the root that a path goes through.
    fn through(&self, module: &ModulePath, path: &[String], depth: usize) -> Option<String> {
        let up = path.iter().take_while(|name| *name == "super").count();
        let root = module.len().checked_sub(up)? == 0 || path[0] == "crate";
        let own = path[0] == "self" || up > 0 || path[0] == "crate";
        let first = path.get(up.max(usize::from(own)))?;
        if root {
            return Some(first.clone());
        }
        let names = self.modules[module].names.get(first).filter(|_| !own)?;
        names.iter().find_map(|name| match name {
            Name::Used(path) if depth < 20 && path[0] != *first => {
                self.through(module, path, depth + 1)
            }
            _ => None,
        })
    }

    /// A path whose first name is replaced by the path of its `use`.
    fn written_out(&self, module: &ModulePath, path: &[String]) -> Vec<String> {
        let used = self.modules[module].names.get(&path[0]).and_then(|names| {
            names.iter().find_map(|name| match name {
                Name::Used(path) => Some(path),
                _ => None,
            })
        });
        match used {
            Some(used) => used.iter().chain(&path[1..]).cloned().collect(),
            None => path.to_vec(),
        }
    }

    fn read_file(&mut self, root: &Path, path: &Path, module: ModulePath, test: bool) {
        let name = relative(root, path);
        let text = std::fs::read_to_string(path)
            .unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let tree = syn::parse_file(&text).unwrap_or_else(|error| panic!("{name}: {error}"));
        self.files.insert(
            name.clone(),
            File {
                lines: text.lines().count(),
                ..File::default()
            },
        );
        self.read_items(root, &name, module, &tree.items, test);
    }

    fn read_items(
        &mut self,
        root: &Path,
        file: &str,
        module: ModulePath,
        items: &[syn::Item],
        test: bool,
    ) {
        self.modules.entry(module.clone()).or_default().file = file.to_owned();
        for item in items {
            let test = test || is_test(attributes(item));
            self.define(&module, item);
            if let syn::Item::Mod(inner) = item {
                let mut deeper = module.clone();
                deeper.push(inner.ident.to_string());
                match &inner.content {
                    Some((_, items)) => self.read_items(root, file, deeper, items, test),
                    None => {
                        let path = module_file(root, &deeper);
                        self.read_file(root, &path, deeper, test);
                    }
                }
                continue;
            }
            let mut reader = Reader {
                module: &module,
                test,
                constant: false,
                file: self.files.get_mut(file).unwrap(),
                defines: &mut self.modules.get_mut(&module).unwrap().names,
            };
            reader.visit_item(item);
        }
    }

    fn define(&mut self, module: &ModulePath, item: &syn::Item) {
        let (name, what) = match item {
            syn::Item::Const(i) => (i.ident.to_string(), Name::Defined),
            syn::Item::Enum(i) => (i.ident.to_string(), Name::Defined),
            syn::Item::Fn(i) => (i.sig.ident.to_string(), Name::Defined),
            syn::Item::Static(i) => (i.ident.to_string(), Name::Defined),
            syn::Item::Struct(i) => (i.ident.to_string(), Name::Defined),
            syn::Item::Trait(i) => (i.ident.to_string(), Name::Defined),
            syn::Item::Type(i) => (i.ident.to_string(), Name::Defined),
            syn::Item::Union(i) => (i.ident.to_string(), Name::Defined),
            syn::Item::Mod(i) => (i.ident.to_string(), Name::Module),
            syn::Item::Macro(i) => {
                let Some(name) = &i.ident else { return };
                let exported = i.attrs.iter().any(|a| a.path().is_ident("macro_export"));
                if exported {
                    // An exported macro is found at the root, and is defined here.
                    let mut here = vec!["crate".to_owned()];
                    here.extend(module.iter().cloned());
                    here.push(name.to_string());
                    self.modules
                        .entry(Vec::new())
                        .or_default()
                        .names
                        .entry(name.to_string())
                        .or_default()
                        .push(Name::Used(here));
                }
                (name.to_string(), Name::Defined)
            }
            syn::Item::Use(i) => {
                let module = self.modules.get_mut(module).unwrap();
                for leaf in leaves(&i.tree) {
                    match leaf.name {
                        Some(name) => {
                            let names = module.names.entry(name).or_default();
                            names.push(Name::Used(leaf.path));
                        }
                        None => module.globs.push(leaf.path),
                    }
                }
                return;
            }
            _ => return,
        };
        self.modules
            .get_mut(module)
            .unwrap()
            .names
            .entry(name)
            .or_default()
            .push(what);
    }

    fn file_of(&self, module: &ModulePath, path: &[String]) -> Option<String> {
        Some(match self.resolve(module, path, 0)? {
            Target::Module(module) => self.modules[&module].file.clone(),
            Target::Item(file) => file,
        })
    }

    /// The target of a path written in a module; `None` for a path out of the crate.
    fn resolve(&self, module: &ModulePath, path: &[String], depth: usize) -> Option<Target> {
        if depth > 20 {
            return None;
        }
        let mut at = module.clone();
        let mut rest = path;
        let mut rooted = false;
        while let Some((first, others)) = rest.split_first() {
            match first.as_str() {
                "crate" => at.clear(),
                "self" => {}
                "super" => {
                    at.pop()?;
                }
                _ => break,
            }
            rooted = true;
            rest = others;
        }
        while let Some((first, others)) = rest.split_first() {
            match self.look_up(&at, first, others.is_empty(), depth) {
                Some(Target::Module(inner)) => at = inner,
                Some(item) => return Some(item),
                // What a derive macro makes has no definition to be found.
                None if rooted => return Some(Target::Item(self.modules[&at].file.clone())),
                None => return None,
            }
            rooted = true;
            rest = others;
        }
        Some(Target::Module(at))
    }

    /// The meaning of a name in a module. The last name of a path may be a function where a module has the same name.
    fn look_up(&self, module: &ModulePath, name: &str, last: bool, depth: usize) -> Option<Target> {
        if depth > 20 {
            return None;
        }
        let inside = &self.modules[module];
        let Some(names) = inside.names.get(name) else {
            return inside.globs.iter().find_map(|glob| {
                match self.resolve(module, glob, depth + 1)? {
                    Target::Module(other) if other != *module => {
                        self.look_up(&other, name, last, depth + 1)
                    }
                    _ => None,
                }
            });
        };
        let is_module = |name: &&Name| matches!(name, Name::Module);
        let found = if last {
            names.iter().find(|name| !is_module(name))
        } else {
            names.iter().find(is_module)
        };
        match found.or_else(|| names.first())? {
            Name::Defined => Some(Target::Item(inside.file.clone())),
            Name::Module => {
                let mut inner = module.clone();
                inner.push(name.to_owned());
                Some(Target::Module(inner))
            }
            Name::Used(path) if path.len() == 1 && path[0] == name => None,
            Name::Used(path) => self.resolve(module, path, depth + 1),
        }
    }
}

const PRIMITIVES: &[&str] = &[
    "bool", "char", "f32", "f64", "i8", "i16", "i32", "i64", "i128", "isize", "str", "u8", "u16",
    "u32", "u64", "u128", "usize",
];

fn relative(root: &Path, path: &Path) -> String {
    path.strip_prefix(root)
        .unwrap()
        .to_string_lossy()
        .replace('\\', "/")
}

fn module_file(root: &Path, module: &[String]) -> PathBuf {
    let base: PathBuf = root.join(module.iter().collect::<PathBuf>());
    let single = base.with_extension("rs");
    if single.exists() {
        single
    } else {
        base.join("mod.rs")
    }
}

fn attributes(item: &syn::Item) -> &[syn::Attribute] {
    match item {
        syn::Item::Const(i) => &i.attrs,
        syn::Item::Enum(i) => &i.attrs,
        syn::Item::Fn(i) => &i.attrs,
        syn::Item::Impl(i) => &i.attrs,
        syn::Item::Macro(i) => &i.attrs,
        syn::Item::Mod(i) => &i.attrs,
        syn::Item::Static(i) => &i.attrs,
        syn::Item::Struct(i) => &i.attrs,
        syn::Item::Trait(i) => &i.attrs,
        syn::Item::Type(i) => &i.attrs,
        syn::Item::Use(i) => &i.attrs,
        _ => &[],
    }
}

/// Whether an item is compiled for tests only.
fn is_test(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        attribute.path().is_ident("cfg")
            && attribute
                .parse_args::<syn::Path>()
                .is_ok_and(|path| path.is_ident("test"))
    })
}

/// One name that a `use` brings in, or everything of a module if there is no name.
struct Leaf {
    name: Option<String>,
    path: Vec<String>,
}

fn leaves(tree: &syn::UseTree) -> Vec<Leaf> {
    fn walk(tree: &syn::UseTree, path: &mut Vec<String>, found: &mut Vec<Leaf>) {
        match tree {
            syn::UseTree::Path(step) => {
                path.push(step.ident.to_string());
                walk(&step.tree, path, found);
                path.pop();
            }
            syn::UseTree::Name(last) if last.ident == "self" => found.push(Leaf {
                name: path.last().cloned(),
                path: path.clone(),
            }),
            syn::UseTree::Name(last) => {
                let mut whole = path.clone();
                whole.push(last.ident.to_string());
                found.push(Leaf {
                    name: Some(last.ident.to_string()),
                    path: whole,
                });
            }
            syn::UseTree::Rename(last) => {
                let mut whole = path.clone();
                if last.ident != "self" {
                    whole.push(last.ident.to_string());
                }
                found.push(Leaf {
                    name: Some(last.rename.to_string()),
                    path: whole,
                });
            }
            syn::UseTree::Glob(_) => found.push(Leaf {
                name: None,
                path: path.clone(),
            }),
            syn::UseTree::Group(group) => {
                for tree in &group.items {
                    walk(tree, path, found);
                }
            }
        }
    }
    let mut found = Vec::new();
    walk(tree, &mut Vec::new(), &mut found);
    found
}

/// Collects the paths and calls of one item.
struct Reader<'a> {
    module: &'a ModulePath,
    test: bool,
    constant: bool,
    file: &'a mut File,
    defines: &'a mut BTreeMap<String, Vec<Name>>,
}

impl Reader<'_> {
    fn mention(&mut self, path: Vec<String>, line: usize) {
        self.file.mentions.push(Mention {
            module: self.module.clone(),
            path,
            line,
            test: self.test,
            passes_on: false,
        });
    }

    fn call(&mut self, name: String, line: usize) {
        if !self.test {
            self.file.calls.push(Call {
                name,
                line,
                constant: self.constant,
            });
        }
    }

    /// The arguments of a macro are not parsed, but paths in them look the same.
    fn tokens(&mut self, tokens: TokenStream) {
        let tokens: Vec<TokenTree> = tokens.into_iter().collect();
        let is = |at: usize, c: char| matches!(tokens.get(at), Some(TokenTree::Punct(p)) if p.as_char() == c);
        let mut at = 0;
        while at < tokens.len() {
            match &tokens[at] {
                TokenTree::Group(group) => self.tokens(group.stream()),
                TokenTree::Ident(first) => {
                    let line = first.span().start().line;
                    let follows_dot = at > 0 && is(at - 1, '.');
                    let mut path = vec![first.to_string()];
                    while is(at + 1, ':') && is(at + 2, ':') {
                        let Some(TokenTree::Ident(next)) = tokens.get(at + 3) else {
                            break;
                        };
                        path.push(next.to_string());
                        at += 3;
                    }
                    let called = matches!(tokens.get(at + 1), Some(TokenTree::Group(g)) if g.delimiter() == Delimiter::Parenthesis);
                    if follows_dot {
                        if called {
                            self.call(format!(".{}", path[0]), line);
                        }
                    } else {
                        if is(at + 1, '!')
                            && matches!(tokens.get(at + 2), Some(TokenTree::Group(_)))
                        {
                            self.call(format!("{}!", path[path.len() - 1]), line);
                        }
                        self.mention(path, line);
                    }
                }
                _ => {}
            }
            at += 1;
        }
    }
}

impl<'ast> Visit<'ast> for Reader<'_> {
    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        // A name that is passed on is not used here; where it is, it is met again in the code.
        let passes_on = !matches!(item.vis, syn::Visibility::Inherited);
        for leaf in leaves(&item.tree) {
            self.file.mentions.push(Mention {
                module: self.module.clone(),
                path: leaf.path,
                line: item.span().start().line,
                test: self.test,
                passes_on,
            });
        }
    }

    // A `use` within a function is taken for one of its module.
    fn visit_stmt(&mut self, statement: &'ast syn::Stmt) {
        if let syn::Stmt::Item(syn::Item::Use(inner)) = statement {
            for leaf in leaves(&inner.tree) {
                if let Some(name) = leaf.name {
                    let names = self.defines.entry(name).or_default();
                    names.push(Name::Used(leaf.path));
                }
            }
        }
        visit::visit_stmt(self, statement);
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let segments = path.segments.iter().map(|s| s.ident.to_string()).collect();
        self.mention(segments, path.span().start().line);
        visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, called: &'ast syn::Macro) {
        let line = called.path.span().start().line;
        if let Some(last) = called.path.segments.last() {
            self.call(format!("{}!", last.ident), line);
        }
        visit::visit_path(self, &called.path);
        let segments = called
            .path
            .segments
            .iter()
            .map(|s| s.ident.to_string())
            .collect();
        self.mention(segments, line);
        self.tokens(called.tokens.clone());
    }

    fn visit_expr_method_call(&mut self, call: &'ast syn::ExprMethodCall) {
        let line = call.method.span().start().line;
        self.call(format!(".{}", call.method), line);
        visit::visit_expr_method_call(self, call);
    }

    // What is evaluated while the program is compiled never panics in it.
    fn visit_item_const(&mut self, item: &'ast syn::ItemConst) {
        let calls = self.file.calls.len();
        visit::visit_item_const(self, item);
        self.file.calls.truncate(calls);
    }

    fn visit_expr_const(&mut self, block: &'ast syn::ExprConst) {
        let calls = self.file.calls.len();
        visit::visit_expr_const(self, block);
        self.file.calls.truncate(calls);
    }

    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        let before = self.constant;
        self.constant |= item.sig.constness.is_some();
        visit::visit_item_fn(self, item);
        self.constant = before;
    }

    fn visit_attribute(&mut self, _: &'ast syn::Attribute) {}

    fn visit_vis_restricted(&mut self, _: &'ast syn::VisRestricted) {}
}
