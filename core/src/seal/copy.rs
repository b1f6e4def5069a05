//! What can be wrong with a sealed file that is to be read. The worker finds it out, the page says it:
//! between the two it travels as one word.

macro_rules! troubles {
    ($($(#[$doc:meta])* $name:ident = $word:literal),* $(,)?) => {
        /// Why a sealed file was not opened. Nothing was taken from it.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum CopyTrouble { $($(#[$doc])* $name),* }

        impl CopyTrouble {
            /// Every one, for tables and tests.
            pub const ALL: &'static [Self] = &[$(Self::$name),*];

            /// Its word, the same in every build.
            #[must_use]
            pub const fn word(self) -> &'static str {
                match self { $(Self::$name => $word),* }
            }

            /// The trouble of that word.
            #[must_use]
            pub fn from_word(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$name),)* _ => None }
            }
        }
    };
}

troubles! {
    /// It begins neither as a sealed file nor as its form in letters.
    NotSealed = "not-sealed",
    /// Longer than is read here.
    TooLarge = "too-large",
    /// The form in letters has no last line: the end is missing.
    ArmourCut = "armour-cut",
    /// The form in letters is not as it is written: a line or a letter was changed.
    Armour = "armour",
    /// The text before or after the form in letters is not empty.
    ArmourExtra = "armour-extra",
    /// Another version of the format.
    Version = "version",
    /// The header is not as the format has it, or is cut short.
    Header = "header",
    /// It is sealed for a key or several readers, not with a passphrase.
    NoPassphrase = "no-passphrase",
    /// It asks for more memory and work than is allowed here.
    Work = "work",
    /// There is not enough memory for it now.
    Memory = "memory",
    /// The passphrase does not open it.
    WrongPassphrase = "wrong-passphrase",
    /// The passphrase is right, but the header was changed.
    HeaderChanged = "header-changed",
    /// The end is missing.
    Cut = "cut",
    /// A part was changed, or the last part is cut off.
    Changed = "changed",
    /// Something was put after the end.
    Extra = "extra",
}
