#version 330 core
// What was drawn, in sRGB, as the monitor's codes: linear between the steps of a table of square roots. The definition is displayed() in src/viewer/display.cpp.
uniform sampler2D drawn;
uniform sampler3D table;
uniform float side;  // steps of the table along a channel
out vec4 color;
void main() {
    vec3 srgb = texelFetch(drawn, ivec2(gl_FragCoord.xy), 0).rgb;
    color = vec4(texture(table, (sqrt(srgb) * (side - 1.0) + 0.5) / side).rgb, 1.0);
}
