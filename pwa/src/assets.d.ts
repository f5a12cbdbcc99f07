// Styles and fonts are bundled by the build, not by the compiler of types.
declare module '*.css';
