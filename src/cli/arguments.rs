//! The arguments as given.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::shop::Effort;

use crate::shop::Cutter;

/// Describe a cast part once; get its foam pattern, proved and ready to cut.
#[derive(Debug, Parser)]
#[command(name = "foamwright", version, about, disable_help_subcommand = true)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Build a script: meshes of the finished part, the casting and the pattern, and a report
    Make(MakeWish),
    /// Patch foam that was cut from an earlier version: what to glue in, what to carve away
    Mend(MendWish),
    /// Run the checks of a script, or of a mesh (.stl), writing nothing
    Prove(ProveWish),
    /// Build on every save and show the part on a page in the browser
    Watch(WatchArguments),
    /// List every word of the language, or explain one
    Words {
        /// A word, or a library function such as bosses::tapped
        word: Option<String>,
    },
    /// List the metals table, or explain one metal
    Metals {
        /// A metal, such as A356
        name: Option<String>,
    },
    /// Draw a picture of a part
    Picture(PictureWish),
    /// Write a first script that builds as it is
    Start {
        /// The part's name; the file is called after it
        name: String,
    },
}

/// What `make`, `prove`, `watch` and `picture` share.
#[derive(Debug, Args)]
pub struct Common {
    /// The part script
    pub script: PathBuf,
    /// Override a setting of the script; a value may be a fraction: bore=3/4
    #[arg(long = "set", value_name = "NAME=VALUE", value_parser = name_value)]
    pub set: Vec<(String, String)>,
    /// How far a facet may stand off the true curve, in mm
    #[arg(long, value_name = "MM", value_parser = facet)]
    pub facet: Option<f64>,
}

/// `make`.
#[derive(Debug, Args)]
pub struct MakeWish {
    #[command(flatten)]
    pub common: Common,
    /// Folder for the files [default: out/ and the name of the script]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How long to look for a better layout of the boards
    #[arg(long, value_name = "EFFORT", default_value = "usual")]
    pub effort: EffortWish,
    /// Keep this pattern as the one that the foam is cut from, for `mend`
    #[arg(long)]
    pub as_cut: bool,
    /// One build for each row of a table; its head names settings
    #[arg(long, value_name = "SIZES.CSV", conflicts_with = "json")]
    pub each: Option<PathBuf>,
    /// Print the report as JSON on standard output
    #[arg(long)]
    pub json: bool,
    /// Say how long each step took
    #[arg(long)]
    pub timings: bool,
}

/// `mend`.
#[derive(Debug, Args)]
pub struct MendWish {
    #[command(flatten)]
    pub common: Common,
    /// The pattern's mesh that the foam was cut from [default: the one that `make --as-cut` kept]
    #[arg(long, value_name = "OLD.STL")]
    pub cut: Option<PathBuf>,
    /// Folder of the build: patches go into its folder `mend` [default: out/ and the name of the script]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

/// `prove`.
#[derive(Debug, Args)]
pub struct ProveWish {
    #[command(flatten)]
    pub common: Common,
    /// Tell the wall's thickness at a place, in the script's unit
    #[arg(
        long,
        value_name = "X,Y,Z",
        allow_hyphen_values = true,
        conflicts_with = "json"
    )]
    pub at: Option<String>,
    /// Least wall of a mesh, in mm: for `prove MESH.stl`, which has no script to say it
    #[arg(long, value_name = "MM", value_parser = least_wall)]
    pub min_wall: Option<f64>,
    /// A cutter of the router, in mm: its diameter, and if given how deep it reaches and how wide its holder is; for
    /// `prove MESH.stl`, several times for several
    #[arg(long, value_name = "DIA[,REACH[,HOLDER]]", value_parser = cutter)]
    pub cutter: Vec<Cutter>,
    /// Print the report as JSON on standard output
    #[arg(long)]
    pub json: bool,
    /// Say how long each step took
    #[arg(long)]
    pub timings: bool,
}

/// `watch`.
#[derive(Debug, Args)]
pub struct WatchArguments {
    #[command(flatten)]
    pub common: Common,
    /// Folder for the files [default: out/ and the name of the script]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How long to look for a better layout of the boards
    #[arg(long, value_name = "EFFORT", default_value = "usual")]
    pub effort: EffortWish,
    /// Port of the page on this machine; 0 lets the system pick one
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub port: u16,
    /// Open the page in the browser
    #[arg(long)]
    pub open: bool,
    /// Command that opens a file at a line when it is clicked on the page: 'CMD {file} {line}'
    #[arg(long, value_name = "CMD")]
    pub editor: Option<String>,
}

/// `picture`.
#[derive(Debug, Args)]
pub struct PictureWish {
    #[command(flatten)]
    pub common: Common,
    /// Views, side by side: front, back, left, right, top, bottom, iso
    #[arg(long, default_value = "iso", value_delimiter = ',')]
    pub view: Vec<String>,
    /// finished, casting, pattern or gated
    #[arg(long, default_value = "pattern")]
    pub stage: String,
    /// The PNG file [default: the name of the script with .png]
    #[arg(long, value_name = "FILE.PNG")]
    pub out: Option<PathBuf>,
}

/// `--effort`.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum EffortWish {
    /// A look, well under a second
    Quick,
    /// About three seconds at most
    Usual,
    /// About a minute at most
    Long,
}

impl From<EffortWish> for Effort {
    fn from(wish: EffortWish) -> Effort {
        match wish {
            EffortWish::Quick => Effort::Quick,
            EffortWish::Usual => Effort::Usual,
            EffortWish::Long => Effort::Long,
        }
    }
}

fn name_value(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((name, value)) if !name.trim().is_empty() && !value.trim().is_empty() => {
            Ok((name.trim().to_string(), value.trim().to_string()))
        }
        _ => Err("write NAME=VALUE, such as bore=3/4".to_string()),
    }
}

fn least_wall(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(mm) if mm > 0.0 && mm.is_finite() => Ok(mm),
        _ => Err("a least wall is a number of millimetres over 0".to_string()),
    }
}

fn cutter(text: &str) -> Result<Cutter, String> {
    let size = |t: &str| {
        t.trim()
            .parse()
            .ok()
            .filter(|mm: &f64| *mm > 0.0 && mm.is_finite())
    };
    let sizes: Option<Vec<f64>> = text.split(',').map(size).collect();
    let (dia_mm, reach_mm, holder_dia_mm) = match sizes.as_deref() {
        Some([dia]) => (*dia, f64::INFINITY, None),
        Some([dia, reach]) => (*dia, *reach, None),
        Some([dia, reach, holder]) => (*dia, *reach, Some(*holder)),
        _ => return Err(
            "a cutter is its diameter, its reach and its holder's diameter in mm, such as 6,60,25"
                .to_string(),
        ),
    };
    if holder_dia_mm.is_some_and(|holder| holder < dia_mm) {
        return Err("a holder isn't narrower than its cutter".to_string());
    }
    Ok(Cutter {
        dia_mm,
        reach_mm,
        holder_dia_mm,
    })
}

fn facet(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(mm) if (0.001..=1.0).contains(&mm) => Ok(mm),
        _ => Err("a facet is a number of millimetres from 0.001 to 1".to_string()),
    }
}
